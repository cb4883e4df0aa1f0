/* What a form shows follows what was chosen: only the segments of the event (and a segment brings its event), and only the fields that the kind needs. */
(() => {
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
  for (const one of document.querySelectorAll("[data-only]")) {
    const field = one.closest(".field"), form = one.closest("form");
    const show = () => { field.hidden = !one.dataset.only.split(" ").includes(form.elements.kind.value); };
    form.addEventListener("change", show);
    show();
  }
})();
