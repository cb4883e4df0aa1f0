/* What waits on the phone, shown: in a list, and in the forms it was tapped in. */
window.Waiting = (() => {
  const byId = (id) => document.getElementById(id);
  const make = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });
  const here = () => location.pathname + location.search;
  const MOST_OPEN = 5; /* of more, a line says how many, and opens the list */
  const SIGN_IN = "Sign in again to send what waits.";

  /* Sent once without an answer: perhaps it was done. Its key makes a second sending harmless. */
  const mayHaveArrived = (item) => Boolean(item.tried && !item.refused);
  const arrivedText = (item) => `This may already have gone through. Look at ${item.action.startsWith("/desk/") ? "the desk" : "its page"} when you have a network.`;
  function line(item, { takeBack, correct }) {
    const found = make("li", item.refused ? `${item.label}: ${item.refused} ` : `${item.label} `);
    if (item.refused && item.page) found.append(make("button", "Correct it", { type: "button", onclick: () => correct(item) }), " ");
    if (mayHaveArrived(item)) found.append(make("span", arrivedText(item), { className: "soft" }));
    else found.append(make("button", item.refused ? "Dismiss" : "Take back", { type: "button", onclick: () => takeBack(item) }));
    return found;
  }
  function part(heading, items, acts) {
    if (!items.length) return [];
    const list = make("ul", "");
    list.append(...items.map((item) => line(item, acts)));
    if (items.length <= MOST_OPEN) return [make("p", heading), list];
    const fold = make("details", "", { open: Boolean(byId("queue").querySelector("details")?.open) });
    fold.append(make("summary", heading), list);
    return [fold];
  }
  function showList(items, said, acts) {
    const box = byId("queue");
    if (!box) return;
    const waits = items.filter((item) => !item.refused), heading = `${waits.length} ${waits.length === 1 ? "change waits" : "changes wait"} on this phone for a network:`;
    box.replaceChildren(...part("Not saved:", items.filter((item) => item.refused), acts), ...part(heading, waits, acts));
    for (const text of said) box.append(make("p", text));
    if (said.includes(SIGN_IN)) box.append(make("a", "Sign in", { href: `/sign-in/?next=${encodeURIComponent(location.pathname + location.search)}` }));
    box.hidden = !box.childNodes.length;
  }

  /* The form that something was tapped in, on this page or on a later copy of it. Where one chooses and
     writes, the next thing said is another one. */
  const OWN = ["csrfmiddlewaretoken", "key", "next", "settles"];
  const actionOf = (form) => form.getAttribute("action")?.split("#")[0] || location.pathname;
  const isTap = (form) => !form.querySelector("select, textarea, [type=checkbox], [type=date], [type=time]");
  const isFrom = (item, form) => item.action === actionOf(form) && [...form.querySelectorAll("input[type=hidden]")]
    .every((input) => OWN.includes(input.name) || new URLSearchParams(item.fields).get(input.name) === input.value);

  /* A choice among buttons shows what waits as chosen; the page's own state comes back without it. */
  const before = new WeakMap();
  const wordOf = (button) => (before.get(button)?.[2] ?? button.textContent).replace("✓ ", "").trim();
  function press(button, isPressed) {
    if (!before.has(button)) before.set(button, [button.getAttribute("aria-pressed"), button.className, button.textContent, button.ariaLabel]);
    const word = wordOf(button);
    button.setAttribute("aria-pressed", isPressed);
    button.classList.toggle("main", isPressed);
    const more = button.closest("[data-brief]") ? "" : " (waiting)";
    button.textContent = isPressed ? `✓ ${word}${more}` : word;
    const name = before.get(button)[3];
    button.ariaLabel = isPressed ? `${name ?? word} (waiting)` : name;
  }
  function release(button) {
    if (!before.has(button)) return;
    [, button.className, button.textContent, button.ariaLabel] = before.get(button);
    button.setAttribute("aria-pressed", before.get(button)[0]);
  }
  function choose(form, name, value) {
    for (const button of form.querySelectorAll("button[aria-pressed]")) {
      if (value === null || button.name !== name) release(button); else press(button, button.value === value);
    }
  }
  function mark(form, item) {
    const tag = form.querySelector(".waits");
    if (!item) return tag?.remove();
    (tag || form.appendChild(make("span", "", { className: "waits tag warn full" }))).textContent = form.hasAttribute("data-brief") ? "waiting for a network" : `Waiting for a network: ${item.label}`;
  }
  /* A rank's list: everybody else is here, and how many are noted and how many wait. */
  function showSheet(sheet, waits) {
    const rest = sheet.querySelector("[data-rest-here] form"), all = rest && waits(rest), rows = [...sheet.querySelectorAll("form.marks")];
    if (all) for (const form of rows) if (form.hasAttribute("data-rest") && !waits(form)) choose(form, "state", "present");
    const count = rows.filter((form) => waits(form) || (all && form.hasAttribute("data-rest"))).length, told = sheet.querySelector("[data-noted]");
    if (told) told.textContent = count ? `${told.dataset.noted}, ${count} waiting on this phone` : told.dataset.noted;
  }
  function showMarks(items) {
    const waiting = items.filter((item) => !item.refused), of = new Map();
    for (const form of document.querySelectorAll("form[data-queue]")) {
      const item = isTap(form) ? waiting.filter((one) => isFrom(one, form)).pop() : undefined;
      if (item) of.set(form, item);
      mark(form, item);
      const button = form.querySelector("button[aria-pressed]");
      if (button) choose(form, button.name, item ? new URLSearchParams(item.fields).get(button.name) : null);
    }
    for (const sheet of document.querySelectorAll("[data-sheet]")) showSheet(sheet, (form) => of.has(form));
  }

  /* What a form lacks, said as the server would. */
  function lacks(form) {
    const value = (name) => form.elements[name]?.value || "";
    const holds = (need) => !need.when || value(need.when[0]) === need.when[1];
    return JSON.parse(form.dataset.needs || "[]")
      .filter((need) => holds(need) && ![need.field, ...need.instead].some(value))
      .map((need) => `${form.elements[need.field].labels[0].firstChild.textContent.trim()}: ${need.says}`);
  }
  function showFaults(form, faults) {
    form.querySelector(".note.bad[role=alert]")?.remove();
    if (!faults.length) return;
    const box = make("div", "", { className: "note bad", role: "alert", tabIndex: -1 }), list = make("ul", "");
    list.append(...faults.map((text) => make("li", text)));
    box.append(make("p", "Please fix:"), list);
    form.prepend(box);
    box.focus();
  }
  /* What the page that came back says is wrong. */
  function faultsOf(html) {
    const box = new DOMParser().parseFromString(html || "", "text/html").querySelector("main .note.bad[role=alert]");
    if (!box) return [];
    const lines = [...box.querySelectorAll("li")];
    return (lines.length ? lines : [box]).map((one) => one.textContent.trim());
  }
  /* What was refused, in its form again. */
  function fillAgain(item) {
    const form = [...document.querySelectorAll("form[data-queue]")].find((one) => !isTap(one) && actionOf(one) === item.action);
    if (!form) return null;
    for (const [name, value] of new URLSearchParams(item.fields)) {
      const field = form.elements[name];
      if (field && field.type !== "hidden" && field.type !== "checkbox") {
        field.value = value;
        field.dispatchEvent(new Event("change", { bubbles: true }));
      }
    }
    showFaults(form, [item.refused]);
    return form;
  }

  /* Several values of one name are one, with commas between. */
  function fieldsOf(entries) {
    const fields = new URLSearchParams();
    for (const [name, value] of entries) fields.set(name, fields.has(name) ? `${fields.get(name)},${value}` : value);
    return fields;
  }
  function itemOf(form, fields, button) {
    const now = new Date(), key = crypto.randomUUID();
    for (const name of ["key", "csrfmiddlewaretoken", "noted_at"]) fields.delete(name);
    const what = fields.toString();
    fields.set("key", key);
    fields.set("noted_at", now.toISOString());
    const chosen = [...form.querySelectorAll("select, [type=date], [type=time], [data-say]")].filter((one) => one.value).map((one) => one.selectedOptions ? one.selectedOptions[0].textContent.trim() : one.value);
    if (button?.name) chosen.push(wordOf(button));
    const label = [form.dataset.queue, ...chosen].join(": ").slice(0, 200);
    return { key, tried: navigator.onLine, about: aboutOf(form, fields), fields: fields.toString(), action: actionOf(form), page: form.querySelector("select") ? here() : "", label, what, at: now.getTime() };
  }
  /* What is decided once: a card or request, or who goes out of, or into, a segment. */
  function aboutOf(form, fields) {
    const { once, onceFields } = form.dataset, segments = (fields.get("segments") || "").split(",");
    const named = (onceFields || "").split(" ").filter((name) => fields.get(name));
    return [...(once ? [once] : []), ...named.flatMap((name) => segments.map((segment) => `${name} ${fields.get(name)} in ${segment}`))];
  }

  return { SIGN_IN, make, byId, actionOf, showList, showMarks, lacks, showFaults, faultsOf, fillAgain, here, mayHaveArrived, arrivedText, fieldsOf, itemOf };
})();
