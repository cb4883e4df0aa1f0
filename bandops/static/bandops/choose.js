/* A long list is found in by typing: a field with suggestions stands in for it; without script the list is there. */
(() => {
  const plain = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").replace(/[øØ]/g, "o").replace(/[łŁ]/g, "l").toLowerCase().trim();
  const LONG = 12, MOST = 30;

  function suggest(list) {
    const field = document.createElement("input"), box = document.createElement("ul"), frame = document.createElement("span");
    const label = list.labels[0], id = list.id || `choose-${list.name}`;
    Object.assign(field, { type: "text", id, autocomplete: "off", spellcheck: false, placeholder: "Type to find", required: false });
    for (const [name, value] of Object.entries({ role: "combobox", "aria-expanded": "false", "aria-autocomplete": "list", "aria-controls": `${id}-found` })) field.setAttribute(name, value);
    for (const name of ["aria-describedby", "aria-invalid", "aria-label", "aria-required"]) if (list.hasAttribute(name)) field.setAttribute(name, list.getAttribute(name));
    if (list.required) { field.setAttribute("aria-required", "true"); list.required = false; list.dataset.required = ""; }
    Object.assign(box, { id: `${id}-found`, className: "found", hidden: true });
    box.setAttribute("role", "listbox");
    box.setAttribute("aria-label", label?.textContent.trim() ?? list.getAttribute("aria-label") ?? "Found");
    frame.className = "choose";
    list.id = `${id}-list`;
    if (label && !label.contains(list)) label.htmlFor = id;
    list.before(frame);
    frame.append(field, box, list);
    list.hidden = true;

    const says = Object.assign(document.createElement("span"), { className: "errorlist", hidden: true });
    says.setAttribute("role", "alert");
    frame.append(says);
    const complain = (text) => { says.textContent = text; says.hidden = !text; if (text) field.setAttribute("aria-invalid", "true"); else field.removeAttribute("aria-invalid"); };
    const empty = [...list.options].find((option) => !option.value);
    const words = (option) => (option && option.value ? option.text.trim() : "");
    const show = () => { field.value = words(list.selectedOptions[0]); };
    let at = -1, lines = [];
    const point = (to) => {
      lines[at]?.removeAttribute("aria-selected");
      at = to;
      lines[at]?.setAttribute("aria-selected", "true");
      lines[at]?.scrollIntoView({ block: "nearest" });
      if (lines[at]) field.setAttribute("aria-activedescendant", lines[at].id); else field.removeAttribute("aria-activedescendant");
    };
    const shut = () => { box.hidden = true; field.setAttribute("aria-expanded", "false"); point(-1); };
    const open = () => {
      const typed = field.value === words(list.selectedOptions[0]) ? [] : plain(field.value).split(/\s+/).filter(Boolean);
      const all = [...list.options].filter((option) => option.value && !option.disabled && typed.every((word) => plain(option.text).includes(word)));
      const begins = (option) => typed.every((word) => plain(option.text).split(/[\s(,-]+/).some((one) => one.startsWith(word)));
      if (typed.length) all.sort((one, other) => begins(other) - begins(one));
      box.replaceChildren(...all.slice(0, MOST).map((option, n) => {
        const line = Object.assign(document.createElement("li"), { id: `${id}-${n}`, textContent: option.text });
        line.setAttribute("role", "option");
        line.addEventListener("mousedown", (event) => { event.preventDefault(); take(option); });
        line.take = () => take(option);
        return line;
      }));
      lines = [...box.children];
      if (!all.length || all.length > MOST) {
        const rest = Object.assign(document.createElement("li"), { className: "soft", textContent: all.length ? `${all.length - MOST} more: keep typing` : "No match" });
        rest.setAttribute("role", "presentation");
        box.append(rest);
      }
      box.hidden = false;
      field.setAttribute("aria-expanded", "true");
      point(typed.length && lines.length ? 0 : -1);
    };
    const take = (option) => {
      const changed = list.value !== option.value;
      list.value = option.value;
      show();
      shut();
      complain("");
      if (changed) list.dispatchEvent(new Event("change", { bubbles: true }));
    };
    field.addEventListener("input", open);
    field.addEventListener("focus", () => field.select());
    field.addEventListener("click", () => { if (box.hidden) open(); });
    field.addEventListener("keydown", (event) => {
      if (event.key === "ArrowDown" || event.key === "ArrowUp") {
        event.preventDefault();
        if (box.hidden) open();
        const step = event.key === "ArrowDown" ? 1 : -1;
        if (lines.length) point((at + step + (at < 0 && step < 0 ? lines.length + 1 : lines.length)) % lines.length);
      } else if (event.key === "Enter" && !box.hidden && lines[at]) {
        event.preventDefault();
        lines[at].take();
      } else if (event.key === "Escape" && !box.hidden) { event.stopPropagation(); shut(); show(); }
    });
    /* What was typed is taken where it can mean only one; else it goes back to what was chosen. */
    field.addEventListener("blur", () => {
      if (!field.value.trim() && empty) take(empty);
      else if (!box.hidden && field.value !== words(list.selectedOptions[0])) {
        const meant = [...list.options].filter((option) => option.value && plain(option.text) === plain(field.value));
        if (meant.length === 1) take(meant[0]); else if (lines.length === 1) lines[0].take();
        else { if (empty) list.value = ""; complain("Not in the list: choose one from it."); return shut(); }
      }
      shut();
      show();
      complain("");
    });
    list.addEventListener("change", show);
    list.form?.addEventListener("reset", () => setTimeout(show));
    list.form?.addEventListener("submit", (event) => {
      const lacks = "required" in list.dataset && !list.value;
      if (lacks) { event.preventDefault(); event.stopImmediatePropagation(); complain("Choose one from the list."); frame.scrollIntoView({ block: "center" }); field.focus({ preventScroll: true }); }
    }, true);
    show();
  }

  const ready = (part) => { for (const list of part.querySelectorAll("select:not([multiple], [data-follows], [data-plain])")) if (list.options.length > LONG && !list.closest(".choose")) suggest(list); };
  ready(document);
  document.addEventListener("htmx:afterSwap", ({ detail }) => ready(detail.target));
})();
