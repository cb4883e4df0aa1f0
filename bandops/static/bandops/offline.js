/* Without network: pages kept on the phone show their age, and what needs the network says so. */
(() => {
  const AGAIN_MS = 30000;
  const source = `<!doctype html>${document.documentElement.outerHTML}`;
  const { user, made, zone, borrowed } = document.body.dataset, scripts = document.currentScript.dataset.queueSrc.split(" ");
  const workers = user && borrowed === undefined && navigator.serviceWorker; /* a borrowed device keeps nothing */
  const byId = (id) => document.getElementById(id);
  const make = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });

  /* Nobody is signed in: nothing private stays, not even what was on its way when they left. */
  if (!user && window.caches && !byId("kept")) for (const wait of [0, 1500, 8000]) setTimeout(() => caches.delete("private"), wait);

  /* When a page was made, by the clock it was written with; a device with another says whose clock that is. */
  function clockOf(iso, zoneName) {
    const at = new Date(iso), [, sign, hours, minutes] = iso.match(/([+-])(\d\d):(\d\d)$/) || [];
    const offset = hours ? Number(`${sign}1`) * (60 * hours + Number(minutes)) : -at.getTimezoneOffset();
    const there = new Date(at.getTime() + offset * 60000);
    const say = (how) => there.toLocaleString("en-US", { timeZone: "UTC", ...how });
    const clock = `${say({ weekday: "short" })} ${say({ hour: "numeric", minute: "2-digit" })}`;
    return zoneName && offset !== -at.getTimezoneOffset() ? `${clock} ${zoneName}` : clock;
  }

  /* The age of what is on the screen, when it is a kept copy or there is no network. */
  let isCopy = false;
  function showAge() {
    const away = !navigator.onLine || isCopy, box = byId("age"), since = Date.parse(made);
    for (const part of document.querySelectorAll("[data-offline]")) part.hidden = part.disabled = !away;
    if (!box || !since) return;
    const minutes = Math.max(0, Math.round((Date.now() - since) / 60000));
    const ago = minutes < 120 ? `${minutes} ${minutes === 1 ? "minute" : "minutes"}` : `${Math.round(minutes / 60)} hours`;
    box.textContent = `${navigator.onLine ? "Weak network." : "No network."} This copy is from ${clockOf(made, zone)}, ${ago} old.`;
    if (navigator.onLine) box.append(" ", make("a", "Load it again", { href: location.href }));
    box.hidden = !away;
  }
  if (workers) {
    const here = location.href.split("#")[0], isFirst = !workers.controller;
    workers.register("/worker.js");
    workers.addEventListener("message", (event) => { isCopy = event.data.copy; showAge(); });
    if (!isFirst) workers.controller.postMessage("is this a copy?");
    /* Keep the pages one needs on the field; this one was kept as it came, if there was a worker. */
    workers.ready.then((registered) => {
      const links = [...document.querySelectorAll("a[data-keep]")].map((link) => link.href.split("#")[0]);
      const pages = (document.querySelector("[data-keeps]")?.dataset.keeps ?? "").split(" ").filter(Boolean).map((path) => new URL(path, location).href);
      const keep = [...pages, ...links].filter((href) => href !== here);
      const assets = performance.getEntriesByType("resource").map((entry) => entry.name).filter((name) => name.includes("/static/"));
      const own = isFirst && made ? { address: here, source, made } : null;
      registered.active.postMessage({ user, own, assets: [...assets, ...scripts], keep: navigator.onLine ? [...new Set(keep)] : [] });
    });
  }

  /* What waits for the network, and forms that can wait. */
  const waits = () => Object.keys(localStorage).some((name) => name === "queue" || name.startsWith(`queue ${user} `));
  if (user && (document.querySelector("[data-queue], #desk-data") || sessionStorage.getItem("said") || waits())) {
    for (const src of scripts) document.head.append(Object.assign(document.createElement("script"), { src, async: false }));
  }

  /* What cannot wait says so where it was tapped, and leaves all as it is. */
  const note = make("p", "", { className: "note", role: "status" });
  function needsNetwork(event, where) {
    event.preventDefault();
    note.textContent = "This needs a network. Nothing is lost: try again when it is back.";
    where.after(note);
  }
  function signOut(event) {
    if (navigator.onLine) {
      if (waits() && !window.confirm("Some changes are still waiting on this phone. They stay locked until you sign in here again. Sign out?")) event.preventDefault();
      return;
    }
    event.preventDefault();
    window.caches?.delete("private");
    navigator.serviceWorker?.controller?.postMessage({ forget: true });
    note.textContent = "No network: saved pages are off this phone, but you are still signed in. Sign out again when you have a network.";
    if (waits()) note.textContent += " Waiting changes stay locked and are sent when you have a network.";
    byId("main").prepend(note);
    note.scrollIntoView();
  }
  document.addEventListener("submit", (event) => {
    const form = event.target, isPost = (event.submitter?.formMethod || form.method) === "post";
    if (form.matches('[action$="/sign-out/"]')) signOut(event);
    else if (!navigator.onLine && !event.defaultPrevented && !(isPost && form.dataset.queue && window.Waiting)) needsNetwork(event, event.submitter || form);
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("main a[href]");
    if (!link || navigator.onLine || event.defaultPrevented || link.origin !== location.origin) return;
    const address = link.href.split("#")[0];
    if (address === location.href.split("#")[0]) return;
    event.preventDefault();
    const copy = window.caches ? caches.match(address, { cacheName: "private" }) : Promise.resolve();
    copy.then((found) => found ? location.assign(link.href) : needsNetwork(event, link));
  });

  window.clockOf = clockOf;
  showAge();
  window.addEventListener("online", () => { note.remove(); showAge(); });
  window.addEventListener("offline", showAge);
  setInterval(showAge, AGAIN_MS);
})();
