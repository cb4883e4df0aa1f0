/* Which pages this phone keeps, and since when; what could not be done without network. */
(async () => {
  const list = document.getElementById("kept");
  if (!list) return;
  const not = new URLSearchParams(location.search).get("not") || "";
  for (const part of document.querySelectorAll("[data-not]")) part.hidden = part.dataset.not !== not;
  if (!window.caches) return;
  const store = await caches.open("private");
  const KEEP_MS = 36 * 3600 * 1000; /* as the worker keeps them */
  for (const request of await store.keys()) {
    const copy = await store.match(request), text = await copy.text();
    if (Date.now() - Date.parse(copy.headers.get("X-Made-At")) >= KEEP_MS) continue;
    const of = (pattern) => (text.match(pattern) || [])[1];
    const title = of(/<title>([^<]*)/) || ((copy.headers.get("Content-Disposition") || "").match(/filename="([^"]*)/) || [])[1] || request.url;
    const made = of(/ data-made="([^"]*)/) || copy.headers.get("X-Made-At"), line = document.createElement("li");
    line.append(Object.assign(document.createElement("a"), { textContent: title, href: request.url }));
    line.append(Object.assign(document.createElement("span"), { textContent: `kept ${window.clockOf(made, of(/ data-zone="([^"]*)/))}`, className: "soft" }));
    list.append(line);
  }
})();
