/* Without network: pages kept on the phone show their age. */
(() => {
  const AGAIN_MS = 30000;
  const source = `<!doctype html>${document.documentElement.outerHTML}`;
  const { user, made } = document.body.dataset, { queueSrc } = document.currentScript.dataset;
  const workers = user && navigator.serviceWorker;
  const byId = (id) => document.getElementById(id);
  const make = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });

  /* Nobody is signed in: nothing private stays, not even what was on its way when they left. */
  if (!user && window.caches && !byId("kept")) for (const wait of [0, 1500, 8000]) setTimeout(() => caches.delete("private"), wait);

  /* The age of what is on the screen, when it is a kept copy or there is no network. */
  let isCopy = false;
  function showAge() {
    const away = !navigator.onLine || isCopy, box = byId("age"), since = Date.parse(made);
    for (const part of document.querySelectorAll("[data-offline]")) part.hidden = !away;
    if (!box || !since) return;
    const minutes = Math.max(0, Math.round((Date.now() - since) / 60000));
    const clock = new Date(since).toLocaleTimeString("en-US", { hour: "numeric", minute: "2-digit" });
    const ago = minutes < 120 ? `${minutes} ${minutes === 1 ? "minute" : "minutes"}` : `${Math.round(minutes / 60)} hours`;
    box.textContent = `${navigator.onLine ? "Weak network." : "No network."} This is the copy of ${clock}, ${ago} old.`;
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
      const keep = [...document.querySelectorAll("a[data-keep]")].map((link) => link.href.split("#")[0]).filter((href) => href !== here);
      const assets = performance.getEntriesByType("resource").map((entry) => entry.name).filter((name) => name.includes("/static/"));
      const own = isFirst && made ? { address: here, source, made } : null;
      registered.active.postMessage({ user, own, assets: [...assets, queueSrc], keep: navigator.onLine ? [...new Set(keep)] : [] });
    });
  }

  /* What waits for the network, and forms that can wait. */
  const waits = () => Object.keys(localStorage).some((name) => name === "queue" || name.startsWith(`queue ${user} `));
  if (user && (document.querySelector("[data-queue], #desk-data") || sessionStorage.getItem("said") || waits())) {
    document.head.append(Object.assign(document.createElement("script"), { src: queueSrc }));
  }

  showAge();
  window.addEventListener("online", showAge);
  window.addEventListener("offline", showAge);
  setInterval(showAge, AGAIN_MS);
})();
