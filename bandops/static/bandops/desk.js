/* The game-day desk: its list narrows as one types, and without network it offers the first choices. */
(() => {
  const byId = (id) => document.getElementById(id);
  const make = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });

  /* Without network: the first choices for whoever is tapped. */
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-out]"), data = byId("desk-data");
    if (!link || !data || (navigator.onLine && byId("age").hidden)) return;
    event.preventDefault();
    const desk = JSON.parse(data.textContent), out = link.dataset.out, panel = byId("offline-fill");
    panel.replaceChildren(make("h2", `${desk.names[out]} cannot march`, { className: "first" }), make("p", "Without network: the first choices as they were. It is sent when the network is back."));
    for (const into of [...(desk.choices[out] || []), ""]) {
      const who = into ? `${desk.names[into]} steps in` : "Nobody: leave a hole for now";
      const form = make("form", "", { method: "post", action: desk.fill, className: "above" });
      form.dataset.queue = `${desk.names[out]} out, ${into ? who : "nobody steps in"}`;
      for (const [name, value] of Object.entries({ out, in: into, number: desk.number })) form.append(make("input", "", { type: "hidden", name, value }));
      form.append(make("button", who));
      panel.append(form);
    }
    panel.hidden = false;
    panel.focus();
    panel.scrollIntoView();
  });

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
