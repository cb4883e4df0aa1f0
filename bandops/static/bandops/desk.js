/* The game-day desk: its list narrows as one types, and without network it offers the first choices. */
(() => {
  const byId = (id) => document.getElementById(id);
  const make = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });

  /* The segments to change; `asked` are ticked at first, and `changed` hears which are chosen. */
  function segmentBoxes(names, asked, changed) {
    const group = make("fieldset", "", { className: "row", hidden: names.length < 2 });
    const boxes = names.map(([value]) => make("input", "", { type: "checkbox", value, checked: asked.includes(value) }));
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

  /* One button's form; `tellForm` fills in the segments and what depends on them. */
  function wishForm(desk, fields) {
    const form = make("form", "", { method: "post", action: desk.fill, className: "above" });
    form.dataset.onceFields = "out spot in";
    for (const [name, value] of Object.entries({ ...fields, segments: "", number: desk.number })) form.append(make("input", "", { type: "hidden", name, value }));
    if (desk.why) {
      const why = make("label", "Why after the cut-off? ", { className: "field" });
      why.append(make("input", "", { name: "reason", required: true, maxLength: 200 }));
      form.append(why);
    }
    form.append(make("button", ""), make("p", "", { className: "soft", hidden: true }));
    return form;
  }
  function tellForm(desk, { form, label, who, says, lacking }, chosen) {
    const all = Object.keys(desk.segments).length, ask = desk.asks ? "Ask the director: " : "";
    const only = chosen.length < all ? ` (${chosen.map(([, name]) => name).join(", ")})` : "";
    const open = lacking.filter(([segment]) => chosen.some(([pk]) => pk === String(segment)));
    const button = form.querySelector("button"), note = form.querySelector("p");
    form.elements.segments.value = chosen.map(([pk]) => pk).join(",");
    form.dataset.queue = `${ask}${label}${only}, ${who}`;
    button.textContent = ask + says + (chosen.length ? only : "");
    button.disabled = open.length >= chosen.length;
    note.textContent = `cannot march ${open.map(([, words]) => words).join(", ")}: stays open`;
    note.hidden = !open.length;
  }

  /* With network, too, only those segments are ticked in which the member is missing. */
  function askedOf(link, missing, names) {
    const named = link.dataset.segments ? link.dataset.segments.split(",") : (missing || []).map(String);
    const asked = names.map(([pk]) => pk).filter((pk) => named.includes(pk));
    return asked.length ? asked : names.map(([pk]) => pk);
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
    const wishes = (out ? [...asked.choices, ["", []]] : asked.choices).map(([into, lacking]) => {
      const who = into ? `${desk.names[into]} steps in` : "nobody steps in";
      const form = wishForm(desk, { ...(out ? { out } : { spot: open }), in: into });
      return { form, label, who, says: into ? who : "Nobody: leave it open for now", lacking };
    });
    const [group, tell] = segmentBoxes(names, askedOf(link, asked.missing, names), (chosen) => {
      for (const wish of wishes) tellForm(desk, wish, chosen);
    });
    tell();
    const how = wishes.length ? "No network: these were the first choices. Yours is sent when the network is back." : "No network: nobody free could march it.";
    panel.replaceChildren(make("h2", title, { className: "first" }), make("p", how), group, ...wishes.map(({ form }) => form));
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
      byId("filter-help").textContent = words && !found ? "Nobody here by that name. The search at the top forgives typos." : words ? `${found} shown` : "";
    });
  }
})();
