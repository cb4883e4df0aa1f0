/* Which pages this phone keeps. */
(async () => {
  const list = document.getElementById("kept");
  if (!list || !window.caches) return;
  const store = await caches.open("private");
  for (const request of await store.keys()) {
    const copy = await store.match(request), text = await copy.text();
    const title = (text.match(/<title>([^<]*)/) || [])[1] || ((copy.headers.get("Content-Disposition") || "").match(/filename="([^"]*)/) || [])[1] || request.url;
    const line = document.createElement("li");
    line.append(Object.assign(document.createElement("a"), { textContent: title, href: request.url }));
    list.append(line);
  }
})();
