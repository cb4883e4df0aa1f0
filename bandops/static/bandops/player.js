/* The moving picture of a show; without it links go from set to set. */
(() => {
  const box = document.querySelector("[data-motion]");
  const bar = box && box.querySelector(".bar");
  if (!bar) return;
  const find = (what) => box.querySelector(what), all = (what) => [...box.querySelectorAll(what)];
  const picture = find(".field-picture"), dots = find(".dots"), ways = find(".ways"), now = find("[data-now]"), sides = find(".sides"), numbers = find(".numbers");
  const play = find("[data-play]"), slider = find("#at"), speed = find("[data-speed]"), ticks = find(".set-ticks"), shown = find(".shown");
  const rows = [...document.querySelectorAll("[data-row]")], kept = document.getElementById("motion-data");
  /* Those the picture is about, whom it points out first. */
  const labels = all("[data-dot]").reverse().map((mark) => ({ mark, dot: mark.dataset.dot, at: [0, 0], text: mark.querySelector(".label text") }));
  const named = new Set(labels.map((it) => it.dot));
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const USUAL_TEMPO = 120, AROUND = 90, letter = Number(picture.getAttribute("font-size"));
  const view = picture.viewBox.baseVal, closest = view.height, ratio = view.width / view.height, isClose = picture.hasAttribute("data-close");
  const put = (node, values) => { for (const name in values) node.setAttribute(name, values[name]); return node; };
  const draw = (name, into, values) => into.appendChild(put(document.createElementNS("http://www.w3.org/2000/svg", name), values));
  let sets = null, starts = [], last = 0, asked = 0, resting = 0, running = 0, before = 0, pointed = null, grown = 1;

  /* The set that a count of the show belongs to, and how far it is into the way there. */
  function where(count) {
    const index = Math.max(starts.findLastIndex((start) => start < count), 0);
    return { index, into: Math.min(count - starts[index], sets[index].counts) };
  }
  const endOf = (index) => starts[index] + (index ? sets[index].counts : 0);
  const total = () => endOf(sets.length - 1);
  function at(dot, index, into) {
    const set = sets[index], end = set.points[dot], track = set.tracks[dot];
    if (!end || !index || into >= set.counts) return end;
    const step = Math.floor(into);
    const [a, b, share] = track ? [track[step], track[step + 1], into - step] : [sets[index - 1].points[dot] || end, end, into / set.counts];
    return [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share];
  }

  /* Where a dot comes from, as a line. */
  function trace(dot, index, into) {
    if (!index || !sets[index].points[dot] || !sets[index - 1].points[dot]) return "";
    const points = [];
    for (let count = 0; count < into; count += 1) if (!count || sets[index].tracks[dot]) points.push(at(dot, index, count));
    return `M${[...points, at(dot, index, into)].map((place) => place.map(Math.round).join(" ")).join("L")}`;
  }

  /* A close picture goes along with those it is about; its words and the small field follow. */
  function follow(places) {
    const xs = places.map((p) => p[0]), ys = places.map((p) => p[1]);
    const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    const height = Math.max(closest, bottom - top + 2 * AROUND, (right - left + 2 * AROUND) / ratio), width = ratio * height;
    const x = (left + right - width) / 2, y = (top + bottom - height) / 2;
    grown = height / closest;
    picture.setAttribute("viewBox", [x, y, width, height].join(" "));
    numbers.setAttribute("font-size", letter * grown);
    sides.setAttribute("transform", `translate(${x} ${y}) scale(${grown})`);
    const [first, end] = picture.dataset.ends.split(" ").map(Number), whole = x <= first && x + width >= end;
    sides.children[0].textContent = whole ? "side 1" : x > first ? "← side 1" : "";
    sides.children[2].textContent = whole ? "side 2" : x + width < end ? "side 2 →" : "";
    for (const text of numbers.children) put(text, { y: y + height * picture.dataset.close, opacity: +(Math.abs(text.getAttribute("x") - x - width / 2) < width * 0.475) });
    if (shown) put(shown, { x, y, width, height });
  }
  /* A label stands beside its dot where it covers least, and where it stood before if that is as good; of two that cover each other the later one waits until its dot is pointed at. */
  const SIDES = [[0, -1], [0, 1], [1, 0], [-1, 0], [0.7, -0.7], [-0.7, -0.7], [0.7, 0.7], [-0.7, 0.7]];
  const covers = (a) => (b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
  function tidy() {
    const size = labels.length && parseFloat(getComputedStyle(labels[0].text).fontSize), half = letter / 4, written = [];
    const [left, right, top, bottom] = [view.x, view.x + view.width, view.y, view.y + view.height].map((edge) => edge / grown);
    for (const it of labels) [it.x, it.y] = it.at.map((unit) => unit / grown);
    const discs = labels.map(({ x, y }) => [x - half, y - half, x + half, y + half]);
    for (const it of labels) {
      const tries = SIDES.map(([dx, dy], side) => {
        const x = dx * it.gap, y = dy * it.gap + size * (dy < 0 ? 0 : dy ? 0.75 : 0.36), start = it.x + x - it.wide * (dx > 0 ? 0 : dx ? 1 : 0.5), line = it.y + y;
        const box = [start, line - 0.75 * size, start + it.wide, line + 0.14 * size], over = covers(box);
        const isOut = box[0] < left || box[2] > right || box[1] < top + size || box[3] > bottom - size;
        return { box, side, x, y, "text-anchor": dx > 0 ? "start" : dx ? "end" : "middle", cost: 99 * isOut + 20 * written.filter(over).length + 2 * discs.filter(over).length + (side !== it.side) };
      });
      const { box, side, cost, ...place } = tries.reduce((best, one) => (one.cost < best.cost ? one : best));
      const isOver = written.some(covers(box));
      it.side = side;
      put(it.text, { ...place, dy: 0 });
      it.text.parentNode.setAttribute("class", isOver ? "label spare" : "label");
      if (isOver) put(it.mark, { tabindex: 0, role: "img", "aria-label": it.dot }); else it.mark.removeAttribute("tabindex");
      if (!isOver) written.push(box);
    }
  }
  function paint(count) {
    const { index, into } = where(count), places = [];
    let path = "";
    for (const dot of Object.keys(sets[index].points)) {
      const place = at(dot, index, into);
      if (named.has(dot)) places.push(place);
      else path += `M${Math.round(place[0])} ${Math.round(place[1])}h.1`;
    }
    if (dots) dots.setAttribute("d", path);
    if (isClose && places.length) follow(places);
    for (const it of labels) {
      it.at = at(it.dot, index, into) || it.at;
      put(it.mark, { transform: `translate(${it.at.map((unit) => unit.toFixed(1)).join(" ")}) scale(${grown})`, visibility: sets[index].points[it.dot] ? "visible" : "hidden" });
    }
    if (dots && isClose) dots.setAttribute("stroke-width", dots.dataset.width * grown);
    if (ways) ways.setAttribute("d", [...named].map((dot) => trace(dot, index, into)).join(""));
    tidy();
    if (pointed) point(pointed.dot);
    say(index, into);
  }
  /* The set and count in words, in the bar and in the table of sets. */
  function say(index, into) {
    const set = sets[index], tempo = set.tempo ? ` · ${set.tempo} a minute` : "";
    const words = index ? `Set ${set.label}, count ${Math.min(Math.floor(into), set.told)} of ${set.told}` : `Set ${set.label}, the start`;
    slider.value = Math.round(last);
    slider.setAttribute("aria-valuetext", words);
    now.setAttribute("aria-live", running ? "off" : "polite");
    if (now.textContent !== words + tempo) now.textContent = words + tempo;
    const [back, on] = [stop(-1), stop(1)];
    for (const [link, to] of [[find("[data-go='-1']"), back], [find("[data-go='1']"), on]]) {
      link.hidden = to === null;
      if (to === null) continue;
      link.querySelector("span").textContent = sets[to].label;
      link.href = address(to, sets[to].counts);
    }
    for (const row of rows) {
      const isHere = row.dataset.row === set.label;
      if (isHere === row.hasAttribute("aria-current")) continue;
      if (isHere) { row.setAttribute("aria-current", "true"); reveal(row); } else row.removeAttribute("aria-current");
    }
  }
  /* A row is scrolled to within its own box. */
  function reveal(row) {
    const frame = row.closest(".beside");
    if (!frame) return;
    const high = frame.clientHeight, top = row.getBoundingClientRect().top - frame.getBoundingClientRect().top;
    if (top < 40 || top + row.offsetHeight > high) frame.scrollTop += top - high / 3;
  }
  /* The set before or after, where there is one: the way to a set begins at the one before. */
  function stop(way) {
    const { index, into } = where(Math.round(last));
    const to = way > 0 ? (endOf(index) > Math.round(last) ? index : index + 1) : index - 1;
    return to < 0 || to >= sets.length ? null : to;
  }
  function address(index, into) {
    const to = new URL(location.href);
    if (kept) { to.hash = `set=${encodeURIComponent(sets[index].label)}${into < sets[index].counts ? `&count=${into}` : ""}`; return to; }
    to.searchParams.set("set", sets[index].label);
    if (into < sets[index].counts) to.searchParams.set("count", into); else to.searchParams.delete("count");
    return to;
  }
  /* Where the picture rests, the address and the table follow. */
  function rest() {
    clearTimeout(resting);
    resting = setTimeout(async () => {
      const { index, into } = where(last), mine = ++asked, to = address(index, into);
      history.replaceState(history.state, "", to);
      const chosen = document.querySelector(".search input[name=set]"), table = document.getElementById("frame-table");
      if (chosen) chosen.value = sets[index].label;
      if (!table) return;
      table.setAttribute("aria-busy", "true");
      const answer = await fetch(to, { headers: { "HX-Request": "true" } }).catch(() => null);
      const text = answer && answer.ok && await answer.text();
      if (mine !== asked) return;
      if (!text) return table.removeAttribute("aria-busy");
      const top = table.scrollTop;
      table.outerHTML = text;
      document.getElementById("frame-table").scrollTop = top;
    }, 120);
  }
  function go(count) {
    last = Math.min(Math.max(count, 0), total());
    paint(last);
  }
  function step(to) {
    pause();
    go(to);
    rest();
  }
  function leap(way) {
    const to = stop(way);
    if (to !== null) step(endOf(to));
  }

  const isPlaying = () => play.dataset.play === "on";
  function pause() {
    if (!isPlaying()) return;
    cancelAnimationFrame(running);
    running = 0;
    play.dataset.play = "";
    play.textContent = "Play";
    go(Math.round(last));
    rest();
  }
  /* For those who want no motion it goes from set to set, each as long as the way there takes. */
  function start() {
    if (last >= total()) last = 0;
    play.dataset.play = "on";
    play.textContent = "Pause";
    before = performance.now();
    let clock = last;
    const frame = (time) => {
      const tempo = sets[where(clock + 0.001).index].tempo || USUAL_TEMPO;
      clock = Math.min(clock + ((time - before) / 60000) * tempo * speed.value, total());
      before = time;
      const { index } = where(clock), passed = clock >= endOf(index) ? index : index - 1;
      if (!calm.matches) go(clock);
      else if (passed >= 0 && endOf(passed) > last) go(endOf(passed));
      if (clock >= total()) pause();
      else running = requestAnimationFrame(frame);
    };
    running = requestAnimationFrame(frame);
  }
  const toggle = () => (isPlaying() ? pause() : start());

  /* A dot's name where somebody points at it, in the picture or in the table. */
  function point(dot) {
    pointed?.mark.remove();
    pointed = null;
    const { index, into } = where(last), place = dot && at(dot, index, into);
    if (!place) return;
    const [x, y] = place, wide = view.width, size = letter * grown;
    const mark = draw("g", picture, { class: "pointed", "font-size": size });
    draw("circle", mark, { cx: x, cy: y, r: size * 0.6 });
    const far = (x - view.x) / wide;
    draw("text", mark, { x, y: y - size * 0.8, "text-anchor": far < 0.1 ? "start" : far > 0.9 ? "end" : "middle" }).textContent = dot;
    pointed = { dot, mark };
  }
  function under(event) {
    const matrix = picture.getScreenCTM(), { index, into } = where(last);
    let best = 18, found = null;
    for (const dot of Object.keys(sets[index].points)) {
      const [x, y] = at(dot, index, into);
      const far = Math.hypot(x * matrix.a + matrix.e - event.clientX, y * matrix.d + matrix.f - event.clientY);
      if (far < best) [best, found] = [far, dot];
    }
    return found;
  }

  function keys(event) {
    const inside = box.contains(event.target), isBody = event.target === document.body, isBeside = event.target.closest?.(".beside");
    if (!(inside || isBody || isBeside) || event.ctrlKey || event.altKey || event.metaKey || event.target.matches("select")) return;
    const way = { ArrowLeft: -1, ArrowRight: 1 }[event.key], page = { PageUp: -1, PageDown: 1 }[event.key];
    if (way) event.shiftKey ? leap(way) : step(Math.round(last) + way);
    else if (page && inside) leap(page);
    else if (event.key === " " && !isBeside && !event.target.closest("button, a")) toggle();
    else return;
    event.preventDefault();
  }

  /* A tick a set, on the line that the slider's thumb goes along; labels where there is room. */
  function mark() {
    ticks.replaceChildren();
    const long = total() || 1, wide = ticks.clientWidth;
    let free = -Infinity;
    sets.forEach((set, index) => {
      const x = (100 * endOf(index)) / long, at = (wide * x) / 100;
      draw("line", ticks, { x1: `${x}%`, x2: `${x}%`, y1: 0, y2: 7 });
      if (at < free) return;
      free = at + 10 * set.label.length + 16;
      draw("text", ticks, { x: `${x}%`, y: 20, "text-anchor": "middle" }).textContent = set.label;
    });
  }

  const measure = () => labels.forEach((it) => {
    it.wide = it.text.getComputedTextLength();
    it.gap = 1.2 * it.mark.querySelector("circle").r.baseVal.value * (it.mark.matches(".self") ? 1 : 0.6) + letter / 8;
  });

  function ready(data) {
    sets = data.sets;
    let sum = 0;
    starts = sets.map((set, index) => {
      const first = sum;
      set.told = set.counts;
      if (index) sum += set.counts ||= 1;
      return first;
    });
    slider.max = sum;
    let index = Number(box.dataset.set), count = Number(box.dataset.count);
    const asked = new URLSearchParams(kept ? location.hash.slice(1) : "");
    const wanted = sets.findIndex((set) => set.label === asked.get("set"));
    if (wanted >= 0) [index, count] = [wanted, Number(asked.get("count") ?? sets[wanted].counts)];
    if (dots) dots.dataset.width = dots.getAttribute("stroke-width");
    last = index ? starts[index] + (count >= sets[index].told ? sets[index].counts : count) : 0;
    for (const hidden of all("[data-step], [data-play], .track, .speed, [data-help]")) hidden.hidden = false;
    picture.setAttribute("tabindex", "0");
    picture.setAttribute("role", "group");
    for (const line of all(".label path")) line.remove();
    mark();
    measure();
    go(last);
    for (const row of rows) if (row.hasAttribute("aria-current")) reveal(row);
    addEventListener("resize", () => { mark(); measure(); go(last); });
    document.addEventListener("keydown", keys);
    play.addEventListener("click", toggle);
    for (const button of all("[data-step]")) button.addEventListener("click", () => step(Math.round(last) + Number(button.dataset.step)));
    slider.addEventListener("input", () => step(Number(slider.value)));
    document.addEventListener("click", (event) => {
      if (event.ctrlKey || event.metaKey || event.shiftKey) return;
      const link = event.target.closest("[data-go]"), row = event.target.closest("[data-row]");
      if (link) leap(Number(link.dataset.go));
      else if (row) step(endOf(sets.findIndex((set) => set.label === row.dataset.row)));
      else return;
      event.preventDefault();
    });
    picture.addEventListener("pointermove", (event) => { if (!isPlaying()) point(under(event)); });
    picture.addEventListener("pointerleave", () => point(null));
    for (const kind of ["focusin", "pointerover"]) document.addEventListener(kind, (event) => {
      const row = event.target.closest("[data-point]");
      if (row) point(row.dataset.point); else if (pointed && !picture.contains(event.target)) point(null);
    });
  }
  if (kept) ready(JSON.parse(kept.textContent));
  else fetch(box.dataset.motion).then((answer) => answer.json()).then(ready).catch(() => {});
})();
