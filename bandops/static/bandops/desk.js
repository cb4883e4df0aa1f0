/* The game-day desk: its list narrows as one types, and without network it offers the first choices. */
(() => {
  const byId = (id) => document.getElementById(id);
  const make = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });

  /* The segments to change, all at first; `changed` hears which are chosen. */
  function segmentBoxes(names, changed) {
    const group = make("fieldset", "", { className: "row", hidden: names.length < 2 });
    const boxes = names.map(([value]) => make("input", "", { type: "checkbox", value, checked: true }));
    group.append(make("legend", "In which segments?"));
    names.forEach(([, name], at) => {
      const label = make("label", "", { className: "tap" });
      label.append(boxes[at], ` ${name}`);
      group.append(label);
    });
    const tell = () => changed(names.filter((_, at) => boxes[at].checked));
    group.addEventListener("change", tell);
    return [group, tell];
  }

  /* One button's form; the segments are filled in by `segmentBoxes`. */
  function wishForm(desk, fields, button, lacking) {
    const form = make("form", "", { method: "post", action: desk.fill, className: "above" });
    for (const [name, value] of Object.entries({ ...fields, segments: "", number: desk.number })) form.append(make("input", "", { type: "hidden", name, value }));
    if (desk.why) {
      const why = make("label", "Why after the cut-off? ", { className: "field" });
      why.append(make("input", "", { name: "reason", required: true, maxLength: 200 }));
      form.append(why);
    }
    form.append(make("button", desk.asks ? `Ask the director: ${button}` : button));
    if (lacking) form.append(make("p", `cannot march ${lacking}: stays open`, { className: "soft" }));
    return form;
  }

  /* Without network: the first choices for whoever, or whichever open spot, is tapped. */
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-out], a[data-open]"), data = byId("desk-data");
    if (!link || !data || (navigator.onLine && byId("age").hidden)) return;
    const desk = JSON.parse(data.textContent), { out, open } = link.dataset;
    const asked = out ? desk.outs[out] : desk.opens[open], panel = byId("offline-fill");
    if (!asked) return;
    event.preventDefault();
    const names = (asked.segments || Object.keys(desk.segments)).map((pk) => [String(pk), desk.segments[pk]]);
    const title = out ? `${desk.names[out]} cannot march` : `${asked.label} is open`;
    const label = out ? `${desk.names[out]} out` : `${asked.label} open`;
    const forms = (out ? [...asked.choices, ["", ""]] : asked.choices).map(([into, lacking]) => {
      const who = into ? `${desk.names[into]} steps in` : "nobody steps in";
      const form = wishForm(desk, { ...(out ? { out } : { spot: open }), in: into }, into ? who : "Nobody: leave a hole for now", lacking);
      return [form, who];
    });
    const [group, tell] = segmentBoxes(names, (chosen) => {
      const only = chosen.length < names.length ? ` (${chosen.map(([, name]) => name).join(", ")})` : "";
      for (const [form, who] of forms) {
        form.elements.segments.value = chosen.map(([pk]) => pk).join(",");
        form.dataset.queue = `${desk.asks ? "Ask the director: " : ""}${label}${only}, ${who}`;
        form.querySelector("button").disabled = !chosen.length;
      }
    });
    tell();
    const how = forms.length ? "Without network: the first choices as they were. It is sent when the network is back." : "Without network: nobody who was free could march it.";
    panel.replaceChildren(make("h2", title, { className: "first" }), make("p", how), group, ...forms.map(([form]) => form));
    panel.hidden = false;
    panel.focus();
    panel.scrollIntoView();
  }, true);

  const filter = byId("filter");
  if (filter) {
    filter.closest("[data-filter]").hidden = false;
    const plain = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
    filter.addEventListener("input", () => {
      const words = plain(filter.value.trim());
      let found = 0;
      for (const group of document.querySelectorAll("details:has(.taps)")) {
        let any = false;
        for (const line of group.querySelectorAll("li")) {
          line.hidden = !plain(line.textContent).includes(words);
          any = any || !line.hidden;
          found += line.hidden ? 0 : 1;
        }
        group.hidden = !any;
        group.open = Boolean(words) && any;
      }
      byId("filter-help").textContent = words && !found ? "Nobody here is called that. The search at the top forgives slips." : "The list below narrows as you type.";
    });
  }
})();
