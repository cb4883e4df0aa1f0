/* Without network: pages kept on the phone show their age, and forms wait until it is back. */
(() => {
  const STORE = "queue", WAIT_MS = 8000, AGAIN_MS = 30000;
  const user = document.body.dataset.user;
  const byId = (id) => document.getElementById(id);
  const make = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });

  /* Nobody is signed in: nothing private stays, not even what was on its way when they left. */
  if (!user && window.caches && !byId("kept")) for (const wait of [0, 1500, 8000]) setTimeout(() => caches.delete("private"), wait);

  /* The age of what is on the screen, when it is a kept copy or there is no network. */
  let isCopy = false;
  function showAge() {
    const box = byId("age"), made = Date.parse(document.body.dataset.made);
    if (!box || !made) return;
    const minutes = Math.max(0, Math.round((Date.now() - made) / 60000));
    const clock = new Date(made).toLocaleTimeString("en-US", { hour: "numeric", minute: "2-digit" });
    const ago = minutes < 120 ? `${minutes} ${minutes === 1 ? "minute" : "minutes"}` : `${Math.round(minutes / 60)} hours`;
    box.textContent = `${navigator.onLine ? "Weak network." : "No network."} This is the copy of ${clock}, ${ago} old.`;
    if (navigator.onLine) box.append(" ", make("a", "Load it again", { href: location.href }));
    box.hidden = navigator.onLine && !isCopy;
  }
  if ("serviceWorker" in navigator && user) {
    const workers = navigator.serviceWorker;
    workers.register("/worker.js");
    workers.addEventListener("message", (event) => { isCopy = event.data.copy; showAge(); });
    if (workers.controller) workers.controller.postMessage("is this a copy?");
    /* Keep this page, and now and then those one needs on the field. */
    workers.ready.then((registered) => {
      const mark = `kept ${location.pathname}`;
      const late = Date.now() - Number(sessionStorage.getItem(mark) || 0) > 15 * 60000;
      const links = late ? [...document.querySelectorAll("a[data-keep]")].map((link) => link.href) : [];
      if (late) sessionStorage.setItem(mark, Date.now());
      const assets = performance.getEntriesByType("resource").map((entry) => entry.name).filter((name) => name.includes("/static/"));
      const keep = [...new Set([location.href.split("#")[0], ...links])];
      if (navigator.onLine) registered.active.postMessage({ keep, assets });
    });
  }

  /* What waits for the network: kept for this account only, for a week. */
  function read() {
    try {
      const kept = JSON.parse(localStorage.getItem(STORE)) || {};
      if (kept.user !== user) return [];
      return kept.items.filter((item) => Date.now() - item.at < 7 * 86400000);
    } catch (error) {
      return [];
    }
  }
  function write(items) {
    if (items.length) localStorage.setItem(STORE, JSON.stringify({ user, items }));
    else localStorage.removeItem(STORE);
    showQueue();
  }
  function showQueue(said = []) {
    const box = byId("queue"), items = read();
    if (!box) return;
    box.replaceChildren();
    if (items.length) {
      box.append(make("p", `${items.length} ${items.length === 1 ? "change waits" : "changes wait"} on this phone for the network:`));
      const list = make("ul", "");
      for (const item of items) {
        const line = make("li", item.refused ? `${item.label}: NOT done. ${item.refused} ` : `${item.label} `);
        line.append(make("button", item.refused ? "Dismiss" : "Take back", { type: "button", onclick: () => write(read().filter((other) => other.key !== item.key)) }));
        list.append(line);
      }
      box.append(list);
    }
    for (const text of said) box.append(make("p", text));
    box.hidden = !box.childNodes.length;
  }

  const token = () => (document.cookie.match(/(?:^|; )csrftoken=([^;]+)/) || [])[1] || "";
  async function post(item) {
    const answer = await fetch(item.action, {
      method: "POST",
      headers: { "X-Queued": "1", "X-CSRFToken": token() },
      body: new URLSearchParams(item.fields),
      signal: AbortSignal.timeout(WAIT_MS),
    });
    if (answer.status > 499) throw new Error("down");
    const json = (answer.headers.get("Content-Type") || "").includes("json");
    return json ? answer.json() : { state: "refused", text: "It was not taken: open the page again." };
  }

  let sending = false;
  async function sendAll() {
    if (sending || !user || !navigator.onLine) return;
    sending = true;
    const said = [];
    try {
      for (const item of read().filter((one) => !one.refused)) {
        const answer = await post(item);
        if (answer.state === "sign in") { window.caches?.delete("private"); said.push("Sign in again to send what waits."); break; }
        const rest = read().filter((one) => one.key !== item.key);
        if (answer.state !== "done") rest.push({ ...item, refused: answer.text || "Open the page again." });
        else said.push(`Sent: ${answer.text || item.label}`);
        write(rest);
      }
    } catch (error) { /* still no network: they wait on */ }
    sending = false;
    showQueue(said);
  }

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (form.matches('[action$="/sign-out/"]')) {
      if (!navigator.onLine) {
        event.preventDefault();
        if (window.caches) await caches.delete("private");
        showQueue(["No network: what this phone kept is removed, but you are still signed in. Sign out again with network."]);
      } else if (read().length && !window.confirm("Changes still wait on this phone and would be lost. Sign out?")) event.preventDefault();
      return;
    }
    if (!form.dataset.queue) return;
    event.preventDefault();
    const fields = Object.fromEntries(new FormData(form, event.submitter));
    const what = new URLSearchParams(fields).toString(), key = crypto.randomUUID();
    Object.assign(fields, { key, noted_at: new Date().toISOString() });
    const chosen = [...form.querySelectorAll("select, [type=date], [type=time]")].filter((one) => one.value).map((one) => one.selectedOptions ? one.selectedOptions[0].textContent.trim() : one.value);
    const label = [form.dataset.queue, ...chosen].join(": ").slice(0, 200);
    const item = { key, fields, action: form.getAttribute("action") || location.pathname, label, what, at: Date.now() };
    const button = event.submitter;
    if (button) button.disabled = true;
    try {
      const answer = await post(item);
      if (answer.state === "done") { location.assign(answer.next); return; }
      if (answer.state === "invalid") { HTMLFormElement.prototype.submit.call(form); return; }
      showQueue([answer.state === "sign in" ? "Your sign-in has ended: sign in again." : answer.text]);
      byId("queue").scrollIntoView();
    } catch (error) {
      if (!read().some((other) => !other.refused && other.what === what && other.action === item.action)) write([...read(), item]);
      form.reset();
      const panel = byId("offline-fill");
      if (panel) panel.hidden = true;
      byId("queue").scrollIntoView();
    }
    if (button) button.disabled = false;
  });

  showAge();
  showQueue();
  sendAll();
  window.addEventListener("online", () => { showAge(); sendAll(); });
  window.addEventListener("offline", showAge);
  setInterval(() => { showAge(); sendAll(); }, AGAIN_MS);
})();
