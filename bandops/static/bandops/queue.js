/* Forms wait on the phone until the network is back. Loaded where there is one, or something waits. */
(() => {
  const MOST_SAID = 5, QUIET_MS = 2500, WAIT_MS = 8000, AGAIN_MS = 30000, SOON_MS = 10000, WEEK_MS = 7 * 86400000;
  const TROUBLE = [408, 429, 502, 503, 504];
  const { SIGN_IN, make, byId, actionOf, showList, showMarks, lacks, showFaults, faultsOf, fillAgain, here, mayHaveArrived, arrivedText, fieldsOf, itemOf } = window.Waiting;
  const { user, lock } = document.body.dataset;

  /* What waits for the network: each change by itself, locked by a key that only pages of its own
     account hold, so that whoever has the phone next cannot read it. */
  const prefix = `queue ${user} `;
  const toText = (bytes) => btoa(String.fromCharCode(...new Uint8Array(bytes)));
  const toBytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const key = window.crypto.subtle && crypto.subtle.importKey("raw", toBytes(lock), "AES-GCM", false, ["encrypt", "decrypt"]);
  const has = (item) => localStorage.getItem(prefix + item.key) !== null;
  const drop = (item) => localStorage.removeItem(prefix + item.key);
  async function put(item) {
    const iv = crypto.getRandomValues(new Uint8Array(12)), plain = new TextEncoder().encode(JSON.stringify(item));
    const sealed = await crypto.subtle.encrypt({ name: "AES-GCM", iv }, await key, plain);
    localStorage.setItem(prefix + item.key, `${toText(iv)} ${toText(sealed)}`);
  }
  /* What was opened once is kept open on this page: hundreds may wait, and each tap asks for all. */
  const open = new Map();
  async function opened(name) {
    const text = localStorage.getItem(name);
    if (open.get(name)?.text === text) return [{ ...open.get(name).item }];
    try {
      const [iv, sealed] = text.split(" ").map(toBytes);
      const plain = await crypto.subtle.decrypt({ name: "AES-GCM", iv }, await key, sealed);
      open.set(name, { text, item: JSON.parse(new TextDecoder().decode(plain)) });
      return [{ ...open.get(name).item }];
    } catch (error) {
      return [];
    }
  }
  async function read() {
    const names = key ? Object.keys(localStorage).filter((name) => name.startsWith(prefix)) : [];
    const items = (await Promise.all(names.map(opened))).flat().sort((a, b) => a.at - b.at);
    for (const item of items) if (!item.refused && Date.now() - item.at > WEEK_MS) item.refused = "It waited more than a week: do it again if it still matters.";
    return items;
  }
  /* What an earlier version left waiting. */
  async function takeOver() {
    const old = JSON.parse(localStorage.getItem("queue") || "null");
    if (!key || !old || old.user !== user) return;
    for (const item of old.items) await put(item);
    localStorage.removeItem("queue");
  }

  let told = [];
  async function showQueue(said = told, comesAnew = false) {
    told = said;
    const items = await read();
    showList(items, said, { takeBack, correct });
    if (!comesAnew) showMarks(items);
  }
  /* What is being sent meanwhile stays: only its answer tells whether it was done. */
  async function takeBack(item) {
    const stored = (await read()).find((one) => one.key === item.key);
    if (!mayHaveArrived(stored || item)) drop(item);
    showQueue();
  }
  /* What was refused is opened again where it was written, as it was written; it stays until it is sent anew. */
  let corrected = null;
  async function correct(item) {
    if (item.page !== here()) {
      sessionStorage.setItem("correct", item.key);
      location.assign(item.page);
      return;
    }
    const form = fillAgain(item);
    if (!form) return;
    corrected = { form, item };
    isTouched = true;
    form.closest("details")?.setAttribute("open", "");
    form.scrollIntoView();
  }
  async function correctHere() {
    const item = (await read()).find((one) => one.key === sessionStorage.getItem("correct"));
    sessionStorage.removeItem("correct");
    if (item?.page === here()) await correct(item);
  }

  const token = () => (document.cookie.match(/(?:^|; )(?:__Host-)?csrftoken=([^;]+)/) || [])[1] || "";
  async function post(item, how) {
    const body = new URLSearchParams(item.fields);
    body.delete("csrfmiddlewaretoken");
    body.set("sent_at", new Date().toISOString());
    const answer = await fetch(item.action, {
      method: "POST",
      headers: { "X-Queued": how, "X-Account": user, "X-CSRFToken": token() },
      body,
      signal: AbortSignal.timeout(WAIT_MS),
    });
    /* A server in trouble, or a gateway before it, whatever it writes. */
    if (answer.status > 499 || TROUBLE.includes(answer.status)) return { state: "down" };
    if ((answer.headers.get("Content-Type") || "").includes("json")) return answer.json();
    /* No answer of ours: a network that wants its own page read first. */
    if (answer.ok) return { state: "down" };
    return answer.status === 403 ? { state: "sign in" } : { state: "refused", text: "It did not go through: open the page again." };
  }

  const whyNot = (answer) => faultsOf(answer.page).join(" ") || answer.text || "Open the page again.";

  /* One page sends at a time. */
  const alone = (send) => navigator.locks ? navigator.locks.request("queue", send) : send();
  let sending = false, timer;
  function sendAll() {
    if (sending || !key || !navigator.onLine) return;
    sending = true;
    alone(sendEach);
  }
  function again() {
    clearTimeout(timer);
    timer = setTimeout(sendAll, SOON_MS);
  }
  async function sendEach() {
    const said = [];
    let isAnswered = false, isDown = false;
    try {
      for (const item of (await read()).filter((one) => !one.refused)) {
        if (!has(item)) continue;
        if (!item.tried) await put({ ...item, tried: true });
        const answer = await post(item, "later");
        if (answer.state === "down") { isDown = true; continue; }
        if (answer.state === "sign in") { await put(item); window.caches?.delete("private"); said.push(SIGN_IN); break; }
        isAnswered = true;
        if (answer.state !== "done") { await put({ ...item, refused: whyNot(answer) }); continue; }
        drop(item);
        said.push(`Sent: ${answer.text || item.label}`);
      }
    } catch (error) { isDown = true; /* still no network: they wait on */ }
    sending = false;
    if (isDown) again();
    const lines = inShort(said);
    await showQueue(lines.length ? lines : told, isAnswered && !isTouched);
    if (isAnswered) showAnew(lines);
  }

  /* What was sent has changed the page, or was refused because the page is no longer so: it comes again, unless somebody is writing in it. */
  let isTouched = Boolean(document.querySelector("main .errorlist"));
  document.addEventListener("input", (event) => { isTouched = isTouched || Boolean(event.target.closest("main form")); });
  /* Of many that were sent it says how many. */
  function inShort(said) {
    const sent = said.filter((text) => text.startsWith("Sent: ")), rest = said.filter((text) => !text.startsWith("Sent: "));
    return sent.length > MOST_SAID ? [`${sent.length} changes are sent.`, ...rest] : said;
  }
  /* Whoever is tapping goes on: what is on its way would be lost with the page. */
  let lastTap = 0;
  const isTapping = () => Date.now() - lastTap < QUIET_MS || document.querySelector(".htmx-request");
  const offerAnew = () => byId("queue").append(make("a", "Show the page as it is now", { href: location.href }));
  function showAnew(said) {
    if (isTouched) { offerAnew(); return; }
    if (isTapping()) { setTimeout(() => showAnew(said), QUIET_MS); return; }
    sessionStorage.setItem("said", JSON.stringify(said));
    location.reload();
  }
  function saidBefore() {
    const said = JSON.parse(sessionStorage.getItem("said") || "[]");
    sessionStorage.removeItem("said");
    return said;
  }
  function go(address) {
    const to = new URL(address, location.href), isHere = to.pathname + to.search === here();
    location.assign(to);
    if (isHere) location.reload();
  }

  async function chosenBefore(item) {
    return (await read()).find((one) => !one.refused && one.about?.some((text) => item.about.includes(text)));
  }
  async function refuseSecond(first) {
    const then = mayHaveArrived(first) ? arrivedText(first) : "Take it back first to pick something else.";
    await showQueue([`You already chose “${first.label}”: it waits. ${then}`]);
    byId("queue").scrollIntoView();
    sendAll();
  }
  /* The same tapped again while it waits is one. */
  async function isThere(item) {
    const last = (await read()).filter((one) => !one.refused && one.action === item.action && one.key !== item.key).pop();
    return last?.what === item.what;
  }
  async function letWait(item) {
    if (await isThere(item)) drop(item);
    await showQueue([]);
    isTouched = false;
    if (!document.querySelector("[data-brief]")) byId("queue").scrollIntoView();
  }

  async function sendForm(form, button) {
    const faults = lacks(form);
    showFaults(form, faults);
    if (faults.length) return;
    const item = itemOf(form, fieldsOf(new FormData(form, button)), button);
    const first = await chosenBefore(item);
    if (first) { refuseSecond(first); return; }
    if (await isThere(item)) { await letWait(item); sendAll(); return; }
    if (button) button.disabled = true;
    window.Busy.begin(form, button);
    await put(item); /* before it is sent: a page that is closed meanwhile loses nothing */
    if (corrected?.form === form) drop(corrected.item);
    const answer = await post(item, "1").catch(() => ({ state: "down" }));
    if (answer.state === "down" || answer.state === "sign in") {
      if (answer.state === "sign in") await put({ ...item, tried: false });
      else if (navigator.onLine && has(item)) { await put({ ...item, tried: true }); again(); }
      form.reset();
      const panel = byId("offline-fill");
      if (panel) {
        panel.replaceChildren();
        panel.hidden = true;
      }
      await letWait(item);
      if (answer.state === "sign in") showQueue([SIGN_IN]);
    } else {
      drop(item);
      if (answer.state === "done") { go(answer.next); return; }
      if (answer.state === "invalid" && faultsOf(answer.page).length) showFaults(form, faultsOf(answer.page));
      else if (answer.state === "invalid") { HTMLFormElement.prototype.submit.call(form); return; }
      else {
        await showQueue([answer.text]);
        offerAnew();
        byId("queue").scrollIntoView();
      }
    }
    if (button) button.disabled = false;
    window.Busy.end(form);
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    const isPost = (event.submitter?.formMethod || form.method) === "post";
    if (!key || !isPost || !form.dataset.queue || form.hasAttribute("hx-post")) return;
    event.preventDefault();
    sendForm(form, event.submitter);
  });

  /* A tap that htmx sends is made into one that can wait before it goes. */
  const taps = new WeakMap();
  document.addEventListener("htmx:configRequest", ({ detail }) => {
    const form = detail.elt;
    if (!key || !form.dataset.queue) return;
    lastTap = Date.now();
    const button = detail.triggeringEvent?.submitter, item = itemOf(form, fieldsOf(Object.entries(detail.parameters)), button);
    const noted_at = new Date(item.at).toISOString();
    Object.assign(detail.parameters, { key: item.key, noted_at, sent_at: noted_at });
    taps.set(form, item);
  });
  async function tapWaits(event) {
    const { elt, xhr } = event.detail, item = taps.get(elt);
    if (!item || (xhr.status && !TROUBLE.includes(xhr.status))) return;
    event.detail.waits = true;
    await put({ ...item, tried: item.tried || navigator.onLine });
    again();
    letWait(item);
  }
  for (const kind of ["sendError", "timeout", "responseError"]) document.addEventListener(`htmx:${kind}`, tapWaits);

  document.addEventListener("htmx:afterSwap", () => showQueue());
  takeOver().then(() => showQueue(saidBefore())).then(correctHere).then(sendAll);
  window.addEventListener("online", sendAll);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) sendAll(); });
  setInterval(sendAll, AGAIN_MS);
})();
