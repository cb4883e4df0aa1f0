/* The moving picture of a show; without it links do the same. */
(() => {
  const box = document.querySelector("[data-motion]");
  const panel = box && box.querySelector("[data-player]");
  if (!panel) return;
  const picture = box.querySelector("svg"), dots = picture.querySelector(".dots");
  const named = new Map([...picture.querySelectorAll("[data-dot]")].map((mark) => [mark.dataset.dot, mark]));
  const play = panel.querySelector("[data-play]"), slider = panel.querySelector("input"), output = panel.querySelector("output");
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const USUAL_TEMPO = 120, AROUND = 90, closest = picture.viewBox.baseVal.height;
  let sets = null, starts = [], last = 0, asked = 0;

  /* The set that a count of the show belongs to. */
  function where(count) {
    let index = starts.findLastIndex((start) => start < count);
    if (index < 0) index = 0;
    return { index, into: Math.min(count - starts[index], sets[index].counts) };
  }
  function at(dot, index, into) {
    const set = sets[index], end = set.points[dot], track = set.tracks[dot];
    if (!end) return null;
    if (!index || into >= set.counts) return end;
    if (track) {
      const step = Math.floor(into), share = into - step, a = track[step], b = track[step + 1];
      return [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share];
    }
    const start = sets[index - 1].points[dot] || end, share = into / set.counts;
    return [start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share];
  }
  /* A close picture goes along with those it is about. */
  function follow() {
    const at = [...named.values()].map((mark) => mark.transform.baseVal[0].matrix);
    const [xs, ys] = [at.map((m) => m.e), at.map((m) => m.f)];
    const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    const height = Math.max(closest, bottom - top + 2 * AROUND, (right - left) / 2 + AROUND);
    const x = (left + right) / 2 - height, y = (top + bottom - height) / 2;
    picture.setAttribute("viewBox", [x, y, 2 * height, height].join(" "));
    picture.querySelector(".sides").setAttribute("transform", `translate(${x} ${y}) scale(${height / closest})`);
    for (const text of picture.querySelectorAll(".yard")) {
      text.setAttribute("y", y + height * picture.dataset.close);
      text.setAttribute("opacity", +(Math.abs(text.getAttribute("x") - x - height) < height * 0.95));
    }
  }
  function draw(count) {
    const { index, into } = where(count);
    let path = "";
    for (const dot of Object.keys(sets[index].points)) {
      const [x, y] = at(dot, index, into).map((unit) => Math.round(unit));
      if (named.has(dot)) for (const mark of picture.querySelectorAll(`[data-dot="${CSS.escape(dot)}"]`)) mark.setAttribute("transform", `translate(${x} ${y})`);
      else path += `M${x} ${y}h.1`;
    }
    if (dots) dots.setAttribute("d", path);
    if (picture.hasAttribute("data-close")) follow();
    for (const old of box.querySelectorAll(".ways, [data-still]")) old.remove();
    slider.value = Math.round(count);
    const words = index ? `Set ${sets[index].label}, count ${Math.floor(into)} of ${sets[index].counts}` : `Set ${sets[0].label}, the start`;
    slider.setAttribute("aria-valuetext", words);
    output.setAttribute("aria-live", running ? "off" : "polite");
    if (output.textContent !== words) output.textContent = words;
  }

  /* The table beside the picture follows when the picture rests. */
  async function tell() {
    const { index, into } = where(last), mine = ++asked;
    const address = new URL(location.href);
    address.searchParams.set("set", sets[index].label);
    address.searchParams.set("count", into);
    const answer = await fetch(address, { headers: { "HX-Request": "true" } }).catch(() => null);
    const table = document.getElementById("frame-table");
    if (answer && answer.ok && table && mine === asked) table.outerHTML = await answer.text();
  }
  const total = () => starts[starts.length - 1] + sets[sets.length - 1].counts;
  function go(count) {
    last = Math.min(Math.max(count, 0), total());
    draw(last);
  }

  let running = 0;
  function stop() {
    cancelAnimationFrame(running);
    running = 0;
    play.textContent = "Play";
    go(Math.round(last));
    tell();
  }
  function start() {
    if (last >= total()) last = 0;
    play.textContent = "Stop";
    let before = performance.now();
    const frame = (now) => {
      const tempo = sets[where(last + 0.001).index].tempo || USUAL_TEMPO;
      go(last + ((now - before) / 60000) * tempo);
      before = now;
      if (last >= total()) stop();
      else running = requestAnimationFrame(frame);
    };
    running = requestAnimationFrame(frame);
  }
  play.addEventListener("click", () => (running ? stop() : start()));
  for (const button of panel.querySelectorAll("[data-step]")) button.addEventListener("click", () => {
    if (running) stop();
    go(Math.round(last) + Number(button.dataset.step));
    tell();
  });
  slider.addEventListener("input", () => { if (running) stop(); go(Number(slider.value)); });
  slider.addEventListener("change", tell);

  function ready(data) {
    sets = data.sets;
    let sum = 0;
    starts = sets.map((set, index) => { const before = sum; sum += index ? set.counts : 0; return before; });
    slider.max = sum;
    const index = Number(box.dataset.set);
    last = index ? starts[index] + Number(box.dataset.count) : 0;
    slider.value = last;
    play.hidden = calm.matches;
    calm.addEventListener("change", () => { play.hidden = calm.matches; if (running) stop(); });
    panel.hidden = false;
    output.textContent = document.querySelector("#frame-table caption")?.textContent || "Set 1, the start";
    for (const link of box.querySelectorAll("[data-plain]")) link.hidden = true;
  }
  const kept = document.getElementById("motion-data");
  if (kept) ready(JSON.parse(kept.textContent));
  else fetch(box.dataset.motion).then((answer) => answer.json()).then(ready).catch(() => {});
})();
