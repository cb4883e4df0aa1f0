/* Small comforts; every page works without them. */
(() => {
  const root = document.documentElement;
  /* Long lists are found in by typing; the script comes with the first of them. */
  const LONG_LIST = "select:not([multiple], [data-follows], [data-plain]) option:nth-child(13)";
  let chooser = document.currentScript.dataset.choose;
  const findInLists = (part) => {
    if (!chooser || !part.querySelector(LONG_LIST)) return;
    document.head.append(Object.assign(document.createElement("script"), { src: chooser }));
    chooser = null;
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
    const field = document.querySelector(".find input"), link = document.querySelector(".to-find");
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
  /* Times are the event's own: on a device with another clock, they say whose they are and, when pointed at, one's own. */
  const tellClocks = (part) => {
    for (const time of part.querySelectorAll("time[data-zone]")) {
      const at = new Date(time.dateTime), [, sign, hours, minutes] = time.dateTime.match(/([+-])(\d\d):(\d\d)$/) || [];
      if (!hours || -at.getTimezoneOffset() === Number(`${sign}1`) * (60 * hours + Number(minutes))) continue;
      if (!time.textContent.endsWith(` ${time.dataset.zone}`)) time.append(` ${time.dataset.zone}`);
      time.title = `${at.toLocaleString("en-US", { weekday: "short", month: "short", day: "numeric", hour: "numeric", minute: "2-digit", timeZoneName: "short" })} where you are`;
    }
  };
  tellClocks(document);
  document.addEventListener("htmx:afterSwap", (event) => {
    tellClocks(event.detail.target);
    const heading = event.detail.target.querySelector("h2[tabindex]");
    if (heading) heading.focus({ preventScroll: window.innerWidth > 1100 });
  });
  /* What a list shows follows another: only the segments of the event, and a segment brings its event. */
  const follow = (list) => {
    const lead = list.form.elements[list.dataset.follows];
    for (const option of list.options) option.hidden = option.disabled = Boolean(lead.value && option.dataset.of && option.dataset.of !== lead.value);
    if (list.selectedOptions[0] && list.selectedOptions[0].disabled) list.value = "";
  };
  for (const list of document.querySelectorAll("select[data-follows]")) {
    const lead = list.form.elements[list.dataset.follows];
    list.addEventListener("change", () => {
      const of = list.selectedOptions[0] && list.selectedOptions[0].dataset.of;
      if (of) { lead.value = of; follow(list); }
    });
    lead.addEventListener("change", () => follow(list));
    follow(list);
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
  const MOMENT_MS = 150, LOOK_MS = 250, ARRIVED = /(?:^|; )arrived=1/, FORGET = "arrived=; Max-Age=0; Path=/; SameSite=Lax";
  const busy = Object.assign(document.createElement("div"), { id: "busy", role: "status" });
  document.body.append(busy);
  const under = new Map();
  let soon = 0, look = 0;
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
    soon = look = 0;
    busy.textContent = "";
  };
  const endAll = () => { for (const what of [...under.keys()]) end(what); };
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
    if (!event.defaultPrevented && !(submitter?.formTarget || form.target)) leave(form, submitter);
  });
  addEventListener("click", (event) => {
    const link = event.target.closest?.("a[href]");
    const elsewhere = event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey;
    if (!link || event.defaultPrevented || elsewhere || link.hasAttribute("target")) return;
    const to = new URL(link.getAttribute("href"), document.baseURI); /* a picture's links have no address of their own */
    const isHere = to.hash && to.href.split("#")[0] === location.href.split("#")[0];
    if (to.protocol.startsWith("http") && !isHere) leave("page");
  });
  addEventListener("keydown", (event) => { if (event.key === "Escape") endAll(); });
  addEventListener("pageshow", endAll);
  addEventListener("htmx:beforeRequest", ({ detail: { xhr, requestConfig } }) => begin(xhr, requestConfig?.triggeringEvent?.submitter));
  addEventListener("htmx:afterRequest", ({ detail: { xhr } }) => end(xhr));
})();
