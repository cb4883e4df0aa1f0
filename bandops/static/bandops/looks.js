/* One candidate at a time: numbers to choose from, next and previous. Without scripts all stand one under another. */
(() => {
  const looks = [...document.querySelectorAll(".look")], numbers = document.querySelector("nav[data-looks]");
  if (looks.length < 2) return;
  const linkOf = (look) => document.getElementById(look.id.replace("c", "n"));
  function show(look, isAsked) {
    for (const one of looks) one.hidden = one !== look;
    for (const one of looks) linkOf(one).toggleAttribute("aria-current", one === look);
    if (linkOf(look).hasAttribute("aria-current")) linkOf(look).setAttribute("aria-current", "true");
    linkOf(look).scrollIntoView({ block: "nearest", inline: "center" });
    if (isAsked) { history.replaceState(null, "", `#${look.id}`); look.focus({ preventScroll: true }); numbers.scrollIntoView({ block: "start" }); }
  }
  const current = () => looks.find((look) => !look.hidden);
  const of = (hash) => looks.find((look) => hash === `#${look.id}` || hash.startsWith(`#${look.id}_`));
  const isOpen = (look) => look.querySelector(".steps") && ![...look.querySelectorAll(".steps")].every((form) => form.querySelector("[aria-pressed=true]") || form.closest(".mark").querySelector("h3 strong"));
  numbers.hidden = false;
  for (const look of looks) {
    const steps = look.querySelector("[data-steps]"), at = looks.indexOf(look);
    steps.hidden = false;
    for (const button of steps.querySelectorAll("[data-step]")) {
      const to = looks[at + Number(button.dataset.step)];
      button.disabled = !to;
      if (to) button.textContent = `${button.textContent}: ${linkOf(to).dataset.number}`;
      button.addEventListener("click", () => show(looks[looks.indexOf(current()) + Number(button.dataset.step)], true));
    }
  }
  numbers.addEventListener("click", (event) => {
    const link = event.target.closest("a");
    if (!link) return;
    event.preventDefault();
    show(of(link.getAttribute("href")), true);
  });
  /* What came anew after a mark is where it was. */
  document.addEventListener("htmx:afterSwap", () => { const look = current(); if (look) show(look, false); });
  show(of(location.hash) || looks.find(isOpen) || looks[0], false);
})();
