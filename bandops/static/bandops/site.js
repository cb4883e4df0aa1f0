/* Small comforts; every page works without them. */
(() => {
  const root = document.documentElement;
  /* Long lists are found in by typing; the script comes with the first of them. */
  const LONG_LIST = "select:not([multiple], [data-follows], [data-plain]) option:nth-child(13)";
  const assets = { ...document.currentScript.dataset };
  const findInLists = (part) => {
    if (!assets.choose || !part.querySelector(LONG_LIST)) return;
    document.head.append(Object.assign(document.createElement("link"), { rel: "stylesheet", href: assets.looks }), Object.assign(document.createElement("script"), { src: assets.choose }));
    assets.choose = null;
  };
  document.querySelector(".top .tabs [aria-current]")?.scrollIntoView({ inline: "center", block: "nearest" });
  findInLists(document);
  document.addEventListener("htmx:afterSwap", ({ detail }) => findInLists(detail.target));
  const shine = (on) => {
    if (on) root.dataset.light = "sun"; else delete root.dataset.light;
    for (const button of document.querySelectorAll("[data-sunlight]")) button.setAttribute("aria-pressed", on);
  };
  shine(localStorage.getItem("light") === "sun");
  /* One's own menu closes by a click elsewhere, and by Escape. */
  const menu = document.querySelector(".person");
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-sunlight]")) {
      shine(root.dataset.light !== "sun");
      localStorage.setItem("light", root.dataset.light ?? "");
    }
    if (menu && !menu.contains(event.target)) menu.open = false;
    if (event.target.closest("[data-print]")) window.print();
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && menu?.open) { menu.open = false; menu.firstElementChild.focus(); }
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, select, textarea, [contenteditable]")) return;
    const field = document.querySelector(".find input, [data-find]"), link = document.querySelector(".to-find");
    if (field?.offsetParent) field.focus(); else if (link) link.click(); else return;
    event.preventDefault();
  });
  /* What is ticked decides what the buttons below would do: they wait until the page says so. */
  document.addEventListener("change", (event) => {
    const form = event.target.closest("form[data-renews]");
    if (!form) return;
    form.querySelector("[data-renew]").hidden = false;
    for (const button of document.querySelectorAll("form[data-queue] button")) button.disabled = true;
  });
  document.addEventListener("htmx:afterSwap", (event) => {
    const heading = event.detail.target.querySelector("h2[tabindex]");
    if (heading) heading.focus({ preventScroll: window.innerWidth > 1100 });
  });
  for (const [needs, src] of [["[data-follows], [data-only]", assets.follow], ["time[data-zone]", assets.clocks]]) {
    if (document.querySelector(needs)) document.head.append(Object.assign(document.createElement("script"), { src }));
  }
  /* One place says what was done or failed; what comes without a new page stays in sight until the next press. */
  const place = document.getElementById("messages");
  const bringNear = () => place.classList.add("near");
  for (const kind of ["pointerdown", "keydown"]) addEventListener(kind, (event) => { if (!place?.contains(event.target)) place?.classList.remove("near"); });
  addEventListener("htmx:oobBeforeSwap", ({ detail: { target, fragment } }) => {
    if (target !== place || !fragment.textContent.trim()) return;
    place.replaceChildren();
    bringNear();
  });
  const failed = Object.assign(document.createElement("p"), { className: "note bad", role: "alert" });
  for (const kind of ["response", "send"]) addEventListener(`htmx:${kind}Error`, ({ detail: { xhr, waits, requestConfig } }) => {
    if (waits || !place) return failed.remove();
    const pressed = requestConfig?.triggeringEvent?.submitter, what = pressed ? `${pressed.ariaLabel || pressed.textContent.trim()}: ` : "";
    failed.textContent = what + (xhr.status ? `not saved (${xhr.status}). Reload the page.` : "no answer. Try again.");
    place.replaceChildren(failed);
    bringNear();
  });

  /* Busy: what takes longer than a moment says so, until its page goes, its answer or its file comes. */
  const MOMENT_MS = 150, LOOK_MS = 250, LONG_MS = 2000, SOLVER = /^(.*\/lineup\/\d+\/)/, ARRIVED = /(?:^|; )arrived=1/, FORGET = "arrived=; Max-Age=0; Path=/; SameSite=Lax";
  const busy = Object.assign(document.createElement("div"), { id: "busy", role: "status" });
  document.body.append(busy);
  const under = new Map();
  let soon = 0, look = 0, long = 0;
  const begin = (what, button) => {
    under.set(what, button);
    soon ||= setTimeout(() => {
      busy.textContent = "Working…";
      for (const one of under.values()) one?.setAttribute("aria-busy", "true");
    }, MOMENT_MS);
  };
  const end = (what) => {
    under.get(what)?.removeAttribute("aria-busy");
    under.delete(what);
    if (under.size) return;
    clearTimeout(soon);
    clearInterval(look);
    clearInterval(long);
    soon = look = long = 0;
    busy.textContent = busy.className = "";
  };
  const endAll = () => { for (const what of [...under.keys()]) end(what); };
  /* The solver, when it takes long, says what it is proving. */
  const prove = (address) => {
    const at = SOLVER.exec(new URL(address, document.baseURI).pathname)?.[1];
    if (at) long ||= setInterval(async () => {
      const answer = await fetch(`${at}proving/`).catch(() => null);
      const said = answer?.ok && (await answer.json()).said;
      if (said && under.size) Object.assign(busy, { className: "said", textContent: said });
    }, LONG_MS);
  };
  const leave = (what, button) => {
    document.cookie = FORGET;
    begin(what, button);
    look ||= setInterval(() => {
      if (!ARRIVED.test(document.cookie)) return;
      document.cookie = FORGET;
      endAll();
    }, LOOK_MS);
  };
  window.Busy = { begin, end };
  /* Pressed twice is sent once. */
  addEventListener("submit", (event) => {
    if (!under.has(event.target)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
  }, true);
  addEventListener("submit", (event) => {
    const { target: form, submitter } = event;
    if (!event.defaultPrevented && !(submitter?.formTarget || form.target)) {
      leave(form, submitter);
      prove(submitter?.hasAttribute("formaction") ? submitter.formAction : form.getAttribute("action") || location.href);
    }
  });
  addEventListener("click", (event) => {
    const link = event.target.closest?.("a[href]");
    const elsewhere = event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey;
    if (!link || event.defaultPrevented || elsewhere || link.hasAttribute("target")) return;
    const to = new URL(link.getAttribute("href"), document.baseURI); /* a picture's links have no address of their own */
    const isHere = to.hash && to.href.split("#")[0] === location.href.split("#")[0];
    if (!to.protocol.startsWith("http") || isHere) return;
    leave("page");
    prove(to.href);
  });
  addEventListener("keydown", (event) => { if (event.key === "Escape") endAll(); });
  addEventListener("pageshow", endAll);
  /* Each press has a mark of its own: what a network repeats has the same one. */
  addEventListener("htmx:configRequest", ({ detail: { verb, headers } }) => {
    if (verb !== "get") headers["X-Sent"] = [...crypto.getRandomValues(new Uint32Array(4))].join("-");
  });
  addEventListener("htmx:beforeRequest", ({ detail: { xhr, requestConfig } }) => begin(xhr, requestConfig?.triggeringEvent?.submitter));
  addEventListener("htmx:afterRequest", ({ detail: { xhr } }) => end(xhr));
})();
