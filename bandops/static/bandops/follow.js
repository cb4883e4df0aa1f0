/* What a list shows follows another: only the segments of the event, and a segment brings its event. */
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
})();
