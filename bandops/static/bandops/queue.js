/* Forms wait on the phone until the network is back. Loaded where there is one, or something waits. */
(() => {
  const WAIT_MS = 8000, AGAIN_MS = 30000, WEEK_MS = 7 * 86400000;
  const TROUBLE = [408, 429, 502, 503, 504], SIGN_IN = "Sign in again to send what waits.";
  const { user, lock } = document.body.dataset;
  const byId = (id) => document.getElementById(id);
  const make = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });

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
  async function opened(name) {
    try {
      const [iv, sealed] = localStorage.getItem(name).split(" ").map(toBytes);
      const plain = await crypto.subtle.decrypt({ name: "AES-GCM", iv }, await key, sealed);
      return [JSON.parse(new TextDecoder().decode(plain))];
    } catch (error) {
      return [];
    }
  }
  async function read() {
    const names = key ? Object.keys(localStorage).filter((name) => name.startsWith(prefix)) : [];
    const items = (await Promise.all(names.map(opened))).flat().sort((a, b) => a.at - b.at);
    for (const item of items) if (!item.refused && Date.now() - item.at > WEEK_MS) item.refused = "It waited for more than a week: do it again if it still matters.";
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
  async function showQueue(said = told) {
    const box = byId("queue"), items = await read();
    if (!box) return;
    told = said;
    box.replaceChildren();
    if (items.length) {
      box.append(make("p", `${items.length} ${items.length === 1 ? "change waits" : "changes wait"} on this phone for the network:`));
      const list = make("ul", "");
      for (const item of items) {
        const line = make("li", item.refused ? `${item.label}: NOT done. ${item.refused} ` : `${item.label} `);
        line.append(make("button", item.refused ? "Dismiss" : "Take back", { type: "button", onclick: () => { drop(item); showQueue(); } }));
        list.append(line);
      }
      box.append(list);
    }
    for (const text of said) box.append(make("p", text));
    if (said.includes(SIGN_IN)) box.append(make("a", "Sign in", { href: `/sign-in/?next=${encodeURIComponent(location.pathname + location.search)}` }));
    box.hidden = !box.childNodes.length;
  }

  const token = () => (document.cookie.match(/(?:^|; )csrftoken=([^;]+)/) || [])[1] || "";
  async function post(item, how) {
    const { csrfmiddlewaretoken, ...fields } = item.fields;
    const answer = await fetch(item.action, {
      method: "POST",
      headers: { "X-Queued": how, "X-Account": user, "X-CSRFToken": token() },
      body: new URLSearchParams({ ...fields, sent_at: new Date().toISOString() }),
      signal: AbortSignal.timeout(WAIT_MS),
    });
    if ((answer.headers.get("Content-Type") || "").includes("json")) return answer.json();
    /* No answer of ours: a server in trouble, or a network that wants its own page read first. */
    if (answer.ok || answer.status > 499 || TROUBLE.includes(answer.status)) return { state: "down" };
    return answer.status === 403 ? { state: "sign in" } : { state: "refused", text: "It was not taken: open the page again." };
  }

  /* One page sends at a time. */
  const alone = (send) => navigator.locks ? navigator.locks.request("queue", { ifAvailable: true }, (mine) => mine && send()) : send();
  let sending = false;
  async function sendAll() {
    if (sending || !key || !navigator.onLine) return;
    sending = true;
    const said = [];
    let isDone = false;
    try {
      for (const item of (await read()).filter((one) => !one.refused && has(one))) {
        const answer = await post(item, "later");
        if (answer.state === "down") continue;
        if (answer.state === "sign in") { window.caches?.delete("private"); said.push(SIGN_IN); break; }
        if (answer.state !== "done") { await put({ ...item, refused: answer.text || "Open the page again." }); continue; }
        drop(item);
        isDone = true;
        said.push(`Sent: ${answer.text || item.label}`);
      }
    } catch (error) { /* still no network: they wait on */ }
    sending = false;
    await showQueue(said.length ? said : told);
    if (isDone) showAnew(said);
  }

  /* What was sent has changed the page: it comes again, unless somebody is writing in it. */
  let isTouched = Boolean(document.querySelector("main .errorlist"));
  document.addEventListener("input", (event) => { isTouched = isTouched || Boolean(event.target.closest("main form")); });
  function showAnew(said) {
    if (isTouched) { byId("queue").append(make("a", "Show the page as it is now", { href: location.href })); return; }
    sessionStorage.setItem("said", JSON.stringify(said));
    location.reload();
  }
  function saidBefore() {
    const said = JSON.parse(sessionStorage.getItem("said") || "[]");
    sessionStorage.removeItem("said");
    return said;
  }
  function go(address) {
    const to = new URL(address, location.href), isHere = to.pathname + to.search === location.pathname + location.search;
    location.assign(to);
    if (isHere) location.reload();
  }

  function itemOf(form, fields, button) {
    const what = new URLSearchParams({ ...fields, key: "", csrfmiddlewaretoken: "" }).toString();
    const chosen = [...form.querySelectorAll("select, [type=date], [type=time]")].filter((one) => one.value).map((one) => one.selectedOptions ? one.selectedOptions[0].textContent.trim() : one.value);
    if (button?.name) chosen.push(button.textContent.trim());
    const label = [form.dataset.queue, ...chosen].join(": ").slice(0, 200), now = new Date();
    const own = { key: crypto.randomUUID(), noted_at: now.toISOString() };
    return { key: own.key, fields: { ...fields, ...own }, action: form.getAttribute("action")?.split("#")[0] || location.pathname, label, what, at: now.getTime() };
  }
  /* The same tapped again while it waits is one. */
  async function isThere(item) {
    const last = (await read()).filter((one) => !one.refused && one.action === item.action && one.key !== item.key).pop();
    return last?.what === item.what;
  }
  async function letWait(item, form) {
    if (await isThere(item)) drop(item);
    await showQueue([]);
    isTouched = false;
    byId("queue").scrollIntoView();
    form.dispatchEvent(new CustomEvent("queued", { bubbles: true }));
  }

  function signOut(event) {
    const waits = key && Object.keys(localStorage).some((name) => name.startsWith(prefix));
    if (navigator.onLine) {
      if (waits && !window.confirm("Changes still wait on this phone. They stay, locked, until you sign in here again. Sign out?")) event.preventDefault();
      return;
    }
    event.preventDefault();
    window.caches?.delete("private");
    showQueue(["No network: what this phone kept is removed, but you are still signed in. Sign out again with network."]);
  }

  async function sendForm(form, button) {
    const item = itemOf(form, Object.fromEntries(new FormData(form, button)), button);
    if (button) button.disabled = true;
    await put(item); /* before it is sent: a page that is closed meanwhile loses nothing */
    const answer = await post(item, "1").catch(() => ({ state: "down" }));
    if (answer.state === "down" || answer.state === "sign in") {
      form.reset();
      const panel = byId("offline-fill");
      if (panel) panel.hidden = true;
      await letWait(item, form);
      if (answer.state === "sign in") showQueue([SIGN_IN]);
    } else {
      drop(item);
      if (answer.state === "done") { go(answer.next); return; }
      if (answer.state === "invalid") { HTMLFormElement.prototype.submit.call(form); return; }
      await showQueue([answer.text]);
      byId("queue").scrollIntoView();
    }
    if (button) button.disabled = false;
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.matches('[action$="/sign-out/"]')) signOut(event);
    else if (key && form.dataset.queue && !form.hasAttribute("hx-post")) {
      event.preventDefault();
      sendForm(form, event.submitter);
    }
  });

  /* A tap that htmx sends is made into one that can wait before it goes. */
  const taps = new WeakMap();
  document.addEventListener("htmx:configRequest", ({ detail }) => {
    const form = detail.elt;
    if (!key || !form.dataset.queue) return;
    const button = detail.triggeringEvent?.submitter, item = itemOf(form, Object.fromEntries(Object.entries(detail.parameters)), button);
    Object.assign(detail.parameters, { key: item.key, noted_at: item.fields.noted_at, sent_at: item.fields.noted_at });
    taps.set(form, item);
  });
  async function tapWaits(event) {
    const { elt, xhr } = event.detail, item = taps.get(elt);
    if (!item || (xhr.status && !TROUBLE.includes(xhr.status))) return;
    event.detail.waits = true;
    await put(item);
    const mark = elt.querySelector(".waits") || elt.appendChild(make("span", "", { className: "waits tag warn full" }));
    mark.textContent = `Waits for the network: ${item.label}`;
    letWait(item, elt);
  }
  for (const kind of ["sendError", "timeout", "responseError"]) document.addEventListener(`htmx:${kind}`, tapWaits);

  takeOver().then(() => showQueue(saidBefore())).then(sendAll);
  window.addEventListener("online", sendAll);
  setInterval(sendAll, AGAIN_MS);
})();
