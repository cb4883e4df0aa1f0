/* Keeps the pages a phone needs on the field. Pages are private: one account's at a time. */
const ASSETS = "assets";
const PRIVATE = "private";
const KEEP_MS = 36 * 3600 * 1000;
const FRESH_MS = 15 * 60 * 1000;
const WAIT_MS = 6000;
const TROUBLE = [502, 503, 504];

self.addEventListener("install", (event) => {
  event.waitUntil(keepNothingKept().catch(() => {}));
  self.skipWaiting();
});
self.addEventListener("activate", (event) => event.waitUntil(Promise.all([self.clients.claim(), purge()])));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (isForm(request)) event.respondWith(sent(request, url));
  if (request.method !== "GET") return;
  if (request.mode === "navigate") event.respondWith(page(request, url, event.resultingClientId));
  else if (url.pathname.startsWith("/static/")) event.respondWith(asset(request));
});

/* A form without a script that lets it wait: where no network takes it, the page says so instead of the
   browser, and the form is one step back, as it was. Files go their own way. */
const isForm = (request) => request.mode === "navigate" && request.method === "POST" && (request.headers.get("Content-Type") || "").includes("urlencoded");
async function sent(request, url) {
  try {
    return await fetch(request);
  } catch (error) {
    const isLeaving = url.pathname === "/sign-out/";
    if (isLeaving) await forget();
    return Response.redirect(`/offline/?not=${isLeaving ? "left" : "sent"}`, 303);
  }
}

/* A page asks whether it is a kept copy, names pages to keep for later, or says that somebody left. */
const shownCopies = new Set();
self.addEventListener("message", (event) => {
  const { user, own, keep: addresses, assets } = event.data;
  if (event.data.forget) event.waitUntil(forget());
  else if (addresses) event.waitUntil(Promise.all([keepFor(user, own, addresses), keepAssets(assets)]));
  else event.source.postMessage({ copy: shownCopies.has(event.source.id) });
});

/* Whatever was fetched before somebody signed out is not kept after. */
let signedOut = 0;
async function forget() {
  signedOut += 1;
  await caches.delete(PRIVATE);
}

/* What a page of this account asks for. Its own text comes along where no worker saw it load, and
   what was kept a moment ago is not fetched again. */
async function keepFor(user, own, addresses) {
  await forgetOthers(user);
  await purge();
  const before = signedOut;
  if (own) {
    const headers = { "Content-Type": "text/html; charset=utf-8", "X-Offline-Copy": user, "X-Made-At": own.made };
    await keep(new Request(own.address), new Response(own.source, { headers }), user, before);
  }
  const late = [];
  for (const address of addresses) if (!(await isFresh(address))) late.push(address);
  await keepAll(late, before);
}

async function isFresh(address) {
  const copy = await caches.match(address, { cacheName: PRIVATE });
  return Boolean(copy) && Date.now() - Date.parse(copy.headers.get("X-Made-At")) < FRESH_MS;
}

async function keepAll(addresses, before) {
  for (const address of addresses) {
    /* The header says that nobody reads it yet. */
    const response = await fetch(address, { headers: { "X-Keep": "1" } });
    await letGo(address, response);
    const owner = response.headers.get("X-Offline-Copy");
    if (before !== signedOut) return;
    if (response.redirected && new URL(response.url).pathname === "/sign-in/") return forget();
    if (response.ok && owner) {
      if ((response.headers.get("Content-Type") || "").includes("html")) await keepAssets(assetsOf(await response.clone().text()));
      /* A page that leads on to another is kept as that one: a navigation takes no redirected answer. */
      const plain = response.redirected ? new Response(await response.blob(), { headers: response.headers }) : response;
      if (response.redirected) await keep(new Request(response.url), plain.clone(), owner, before);
      await keep(new Request(address), plain, owner, before);
    }
  }
}

/* What is shown for a page that is not kept: it names nobody, whoever is signed in. */
async function keepNothingKept() {
  const response = await fetch("/offline/", { credentials: "omit" });
  await keepAssets(assetsOf(await response.clone().text()));
  await (await caches.open(ASSETS)).put("/offline/", response);
}

/* The styles and scripts that a page names, some in a row with spaces: nobody may have opened it yet. */
const assetsOf = (html) => [...html.matchAll(/(?:src|href)="(\/static\/[^"]+)"/g)].flatMap((found) => found[1].split(" "));

async function keepAssets(addresses) {
  const store = await caches.open(ASSETS);
  for (const address of addresses) if (!(await store.match(address))) await store.add(address).catch(() => {});
}

async function page(request, url, client) {
  const copy = await kept(request);
  const before = signedOut;
  try {
    const response = await (copy ? soon(fetch(request)) : fetch(request));
    if (copy && TROUBLE.includes(response.status)) throw new Error("a server in trouble");
    await letGo(request.url, response);
    if (url.pathname === "/sign-in/") await forget();
    const owner = response.headers.get("X-Offline-Copy");
    if (response.ok && !response.redirected && owner) await keep(request, response.clone(), owner, before);
    return response;
  } catch (error) {
    if (copy) shownCopies.add(client);
    return copy || (await caches.match("/offline/", { ignoreSearch: true })) || Response.error();
  }
}

/* What is refused now, or no longer there, is not read from a copy either. */
async function letGo(address, response) {
  if (![401, 403, 404, 410].includes(response.status)) return;
  if (await caches.has(PRIVATE)) await (await caches.open(PRIVATE)).delete(address);
}

/* Copies go when they are too old, also those that nobody opens any more. */
async function purge() {
  if (!(await caches.has(PRIVATE))) return;
  const store = await caches.open(PRIVATE);
  for (const old of await store.keys()) {
    const copy = await store.match(old);
    if (copy && Date.now() - Date.parse(copy.headers.get("X-Made-At")) >= KEEP_MS) await store.delete(old);
  }
}

/* A line too weak to answer counts as none, when there is a copy. */
function soon(answer) {
  const late = new Promise((_, reject) => setTimeout(() => reject(new Error("late")), WAIT_MS));
  return Promise.race([answer, late]);
}

async function keep(request, response, owner, before = signedOut) {
  await forgetOthers(owner);
  const store = await caches.open(PRIVATE);
  if (await isNewest(store, response)) await store.put(request.url, response);
  if (before !== signedOut) await caches.delete(PRIVATE);
}

/* Of a series only the newest stays: an old print would be read as the one that counts. */
async function isNewest(store, response) {
  const series = response.headers.get("X-Series"), number = Number(response.headers.get("X-Number"));
  if (!series) return true;
  for (const address of await store.keys()) {
    const other = await store.match(address), theirs = Number(other.headers.get("X-Number"));
    if (other.headers.get("X-Series") !== series) continue;
    if (theirs > number) return false;
    if (theirs < number) await store.delete(address);
  }
  return true;
}

/* Pages are one account's at a time. */
async function forgetOthers(owner) {
  if (!(await caches.has(PRIVATE))) return;
  const store = await caches.open(PRIVATE);
  for (const old of await store.keys()) {
    const copy = await store.match(old);
    if (copy && copy.headers.get("X-Offline-Copy") !== owner) return caches.delete(PRIVATE);
  }
}

async function kept(request) {
  const store = await caches.open(PRIVATE);
  const copy = await store.match(request.url);
  if (!copy) return undefined;
  const made = Date.parse(copy.headers.get("X-Made-At"));
  if (Date.now() - made < KEEP_MS) return copy;
  await store.delete(request.url);
  return undefined;
}

async function asset(request) {
  const store = await caches.open(ASSETS);
  const copy = await store.match(request);
  const fresh = fetch(request).then((response) => {
    if (response.ok) store.put(request, response.clone());
    return response;
  });
  if (copy) {
    fresh.catch(() => {});
    return copy;
  }
  return fresh;
}
