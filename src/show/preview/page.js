// Plays each program back from the trace of its bytes. The trace is the only source: nothing here reads
// the program's text or knows how a panel is laid out.
"use strict";

const data = JSON.parse(document.getElementById("data").textContent);
const root = document.documentElement;
root.classList.add("live");

// ---- Reading ----

const LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
const DIGIT = new Uint8Array(128);
for (let i = 0; i < 64; i++) DIGIT[LETTERS.charCodeAt(i)] = i;

/** Whole numbers from base 64 variable-length quantities. */
function unpack(text) {
  const numbers = [];
  for (let i = 0, value = 0, place = 1; i < text.length; i++) {
    const digit = DIGIT[text.charCodeAt(i)];
    value += (digit & 31) * place;
    place *= 32;
    if (digit & 32) continue;
    const half = Math.floor(value / 2);
    numbers.push(value % 2 ? -half : half);
    value = 0;
    place = 1;
  }
  return numbers;
}

const KINDS = ["rapid", "feed", "arc-cw", "arc-ccw", "dwell"];
const ARCS = new Set(["arc-cw", "arc-ccw"]);
const [REPEAT, X, Y, Z, PEN_DOWN, LINE] = [5, 8, 16, 32, 64, 128];

/** Moves in millimetres from the work's corner and seconds from the start. */
function readMoves(tape) {
  const numbers = unpack(tape.moves), steps = [];
  for (let i = 0; i < numbers.length; ) {
    const bits = numbers[i++];
    if ((bits & 7) === REPEAT) {
      const count = numbers[i++], back = numbers[i++];
      for (let k = 0; k < count; k++) steps.push(steps[steps.length - back]);
      continue;
    }
    const on = bits & LINE ? numbers[i++] : 1;
    const by = [X, Y, Z].map((bit) => (bits & bit ? numbers[i++] : 0));
    const centre = ARCS.has(KINDS[bits & 7]) ? [numbers[i++], numbers[i++]] : null;
    steps.push({ kind: KINDS[bits & 7], drawing: (bits & PEN_DOWN) !== 0, on, by, centre, took: numbers[i++] });
  }
  let at = tape.start, line = 0, micros = 0;
  return steps.map(({ kind, drawing, on, by, centre, took }) => {
    const to = at.map((n, axis) => n + by[axis]), start = micros;
    line += on;
    micros += took;
    const move = {
      kind, line, drawing, centre: centre && centre.map((n, axis) => mm(at[axis] + n)),
      from: at.map(mm), to: to.map(mm), start: start / 1e6, end: micros / 1e6,
    };
    at = to;
    return move;
  });
}

/** Holes and marks, each with the moment it is made. */
function readSpots(tape, moves) {
  const numbers = unpack(tape.spots), panel = unpack(tape.on_panel);
  const now = [0, 0, 0, 0, 0], hung = [0, 0];
  return tape.names.map((name, i) => {
    now.forEach((_, k) => { now[k] += numbers[5 * i + k]; });
    if (panel.length) hung.forEach((_, k) => { hung[k] += panel[2 * i + k]; });
    const [x, y, depth, diameter] = now.map(mm), line = now[4];
    const move = moves[firstAt(moves, line)];
    return { name, x, y, depth, diameter, line, time: move ? move.end : 0, panel: panel.length ? hung.map(mm) : null };
  });
}

const mm = (um) => um / 1000;

/** The first index for which `test` holds; it must hold for all after it. */
function first(count, test) {
  let low = 0, high = count;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (test(middle)) high = middle; else low = middle + 1;
  }
  return low;
}
// Lines of a trace only ever rise: a program has no jumps.
const firstAt = (moves, line) => Math.min(first(moves.length, (i) => moves[i].line >= line), moves.length - 1);

// ---- Words ----

/** A length in the job's unit and the other. */
function long(mm) {
  const metric = `${trim(mm, 2)} mm`, inch = `${trim(mm / 25.4, 3)} in`;
  return data.inches ? `${inch} (${metric})` : `${metric} (${inch})`;
}
const trim = (n, places) => String(Number(n.toFixed(places)) + 0).replace("-", "−");
const fixed = (n) => (Math.abs(n) < 0.005 ? 0 : n).toFixed(2).replace("-", "−");

function clock(seconds) {
  const whole = Math.floor(seconds + 1e-6), two = (n) => String(n).padStart(2, "0");
  const [h, m, s] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60, whole % 60];
  return h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
}

// ---- Colours, read from the style sheet so that light, dark and paper are told apart there ----

let colours = {};
function readColours() {
  const style = getComputedStyle(root);
  for (const name of ["ink", "soft", "card", "feed", "rapid", "made", "focus", "line"])
    colours[name] = style.getPropertyValue(`--${name}`).trim();
}

// ---- One program ----

const GUTTER = 30; // px, as in the style sheet
const NAME_ROOM = 38; // px between neighbours from which names can be read

function bench(section, tape) {
  const find = (query) => section.querySelector(query);
  const moves = readMoves(tape), spots = readSpots(tape, moves);
  const total = moves.length ? moves[moves.length - 1].end : 0;
  const inOrder = [...spots].sort((a, b) => a.time - b.time);
  const gap = leastGap(spots);
  const stage = find(".stage"), picture = find("svg.bed"), canvas = find("canvas"), pen = canvas.getContext("2d");
  const slider = find("input[type=range]"), play = find(".play"), pick = find("select");
  const pane = find(".lines"), bar = find(".bar");
  // What is done so far stays on a second canvas, so that a frame draws only what is new.
  const done = document.createElement("canvas"), donePen = done.getContext("2d");
  let drawn = 0, made = 0;
  const whole = { x: tape.window[0], y: tape.window[1], w: tape.window[2], h: tape.window[3] };
  let view = { ...whole }, scale = 1, size = [0, 0];
  let time = 0, pace = 10, playing = false, chosen = null, origin = null, shownLine = -1;

  // -- Where the tool is --

  function where(seconds) {
    const index = Math.min(first(moves.length, (i) => moves[i].end >= seconds), moves.length - 1);
    const move = moves[index], took = move.end - move.start;
    const part = took > 0 ? Math.min(1, Math.max(0, (seconds - move.start) / took)) : 1;
    return { index, move, at: along(move, part) };
  }

  // -- Drawing --

  const px = (x, y) => [GUTTER + (x - view.x) * scale, size[1] - GUTTER - (y - view.y) * scale];

  function fit() {
    const ratio = window.devicePixelRatio || 1;
    size = [stage.clientWidth, stage.clientHeight];
    scale = (size[0] - GUTTER) / view.w;
    for (const sheet of [canvas, done]) {
      [sheet.width, sheet.height] = size.map((side) => Math.round(side * ratio));
      sheet.getContext("2d").setTransform(ratio, 0, 0, ratio, 0, 0);
    }
    picture.setAttribute("viewBox", `${view.x} ${-view.y - view.h} ${view.w} ${view.h}`);
    stage.classList.toggle("near", view.w < whole.w * 0.999);
    forget();
    draw();
  }

  function forget() {
    donePen.clearRect(0, 0, ...size);
    drawn = made = 0;
    if (gap * scale < NAME_ROOM) return;
    donePen.font = "12px system-ui, sans-serif";
    donePen.textAlign = "center";
    donePen.fillStyle = colours.ink;
    for (const spot of spots) {
      const [x, y] = px(spot.x, spot.y);
      if (x > 0 && y > 0 && x < size[0] && y < size[1])
        donePen.fillText(spot.name, x, y + (spot.diameter / 2) * scale + 13);
    }
  }

  function trail(ink, from, to, last) {
    for (const rapid of [true, false]) {
      ink.beginPath();
      ink.strokeStyle = rapid ? colours.rapid : colours.made;
      ink.lineWidth = rapid ? 1.6 : 3;
      for (let i = from; i < to; i++) if ((moves[i].kind === "rapid") === rapid) stroke(ink, moves[i], 1);
      if (last && (last.move.kind === "rapid") === rapid) stroke(ink, last.move, last.part);
      ink.stroke();
    }
  }

  function stroke(ink, move, part) {
    const { from, to, centre } = move;
    if (centre) {
      const [x, y] = px(...centre), turn = sweep(move) * part, begin = Math.atan2(from[1] - centre[1], from[0] - centre[0]);
      ink.moveTo(...px(from[0], from[1]));
      // The screen counts Y downwards, so angles change their sign.
      ink.arc(x, y, Math.hypot(from[0] - centre[0], from[1] - centre[1]) * scale, -begin, -(begin + turn), turn > 0);
    } else if (from[0] !== to[0] || from[1] !== to[1]) {
      const end = along(move, part);
      ink.moveTo(...px(from[0], from[1]));
      ink.lineTo(...px(end[0], end[1]));
    }
  }

  function dots() {
    donePen.fillStyle = colours.made;
    for (; made < inOrder.length && inOrder[made].time <= time; made++) {
      const { x, y, diameter } = inOrder[made];
      donePen.beginPath();
      donePen.arc(...px(x, y), Math.max(2, (diameter / 2) * scale - 1), 0, 7);
      donePen.fill();
    }
  }

  function draw() {
    if (!moves.length) return;
    const { index, move, at } = where(time);
    if (index < drawn || (made && inOrder[made - 1].time > time)) forget();
    trail(donePen, drawn, index);
    drawn = index;
    dots();
    pen.clearRect(0, 0, ...size);
    pen.save();
    pen.beginPath();
    pen.rect(GUTTER, 0, size[0] - GUTTER, size[1] - GUTTER);
    pen.clip();
    pen.drawImage(done, 0, 0, ...size);
    const took = move.end - move.start;
    trail(pen, 0, 0, { move, part: took > 0 ? Math.min(1, (time - move.start) / took) : 1 });
    if (origin && chosen && origin !== chosen) between();
    if (origin) ring(origin);
    if (chosen) ring(chosen);
    tool(at, move);
    pen.restore();
    rulers();
  }

  function ring({ x, y, diameter }) {
    pen.beginPath();
    pen.arc(...px(x, y), Math.max(9, (diameter / 2) * scale + 5), 0, 7);
    pen.strokeStyle = colours.focus;
    pen.lineWidth = 3;
    pen.stroke();
  }

  /** From the place that is measured from to the one chosen. */
  function between() {
    pen.beginPath();
    pen.moveTo(...px(origin.x, origin.y));
    pen.lineTo(...px(chosen.x, chosen.y));
    pen.strokeStyle = colours.focus;
    pen.lineWidth = 2;
    pen.stroke();
  }

  /** Solid while it works, hollow while it travels. */
  function tool(at, move) {
    const [x, y] = px(at[0], at[1]);
    const r = Math.max(6, (fittedAt(moves.indexOf(move)).diameter / 2) * scale);
    const working = move.drawing || at[2] < 0;
    for (const [width, colour] of [[6, colours.card], [2.5, colours.ink]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.beginPath();
      pen.arc(x, y, r, 0, 7);
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        pen.moveTo(x + dx * (r + 2), y + dy * (r + 2));
        pen.lineTo(x + dx * (r + 12), y + dy * (r + 12));
      }
      pen.stroke();
    }
    if (!working) return;
    pen.fillStyle = colours.ink;
    pen.beginPath();
    pen.arc(x, y, Math.max(2, r - 4), 0, 7);
    pen.fill();
  }

  /** Along the left and lower sides, counted from X0 Y0, in the job's unit. */
  function rulers() {
    const unit = data.inches ? 25.4 : 1;
    const steps = data.inches ? [0.125, 0.25, 0.5, 1, 2, 5, 10, 20, 50] : [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];
    const step = steps.find((s) => s * unit * scale >= 9) || steps[steps.length - 1];
    const apart = steps.find((s) => s * unit * scale >= 46 && Number.isInteger(+(s / step).toFixed(6))) || step;
    pen.fillStyle = colours.card;
    pen.fillRect(0, 0, GUTTER, size[1]);
    pen.fillRect(0, size[1] - GUTTER, size[0], GUTTER);
    pen.strokeStyle = pen.fillStyle = colours.soft;
    pen.lineWidth = 1;
    pen.font = "11px system-ui, sans-serif";
    pen.textAlign = "center";
    pen.beginPath();
    const ticks = (from, length, mark) => {
      const low = Math.ceil(from / unit / step), high = Math.floor((from + length) / unit / step);
      for (let i = low; i <= high; i++) {
        const value = +(i * step).toFixed(4), named = Math.abs(value / apart - Math.round(value / apart)) < 1e-6;
        mark(value * unit, named ? trim(value, 3) : "");
      }
    };
    ticks(view.x, view.w, (x, name) => {
      const at = px(x, 0)[0], top = size[1] - GUTTER;
      pen.moveTo(at, top);
      pen.lineTo(at, top + (name ? 9 : 5));
      if (at > GUTTER + 8 && at < size[0] - 14) pen.fillText(name, at, top + 21);
    });
    ticks(view.y, view.h, (y, name) => {
      const at = px(0, y)[1];
      pen.moveTo(GUTTER, at);
      pen.lineTo(GUTTER - (name ? 9 : 5), at);
      if (!name || at < 14 || at > size[1] - GUTTER - 8) return;
      pen.save();
      pen.translate(GUTTER - 13, at);
      pen.rotate(-Math.PI / 2);
      pen.fillText(name, 0, 0);
      pen.restore();
    });
    pen.stroke();
    pen.fillText(data.inches ? "in" : "mm", GUTTER / 2, size[1] - 10);
  }

  // -- Time --

  const fittedAt = (index) => tape.tools[Math.max(0, first(tape.tools.length, (i) => tape.tools[i].from_move > index) - 1)];

  function setTime(seconds) {
    time = Math.min(total, Math.max(0, seconds));
    if (!moves.length) return;
    const { index, move, at } = where(time);
    [section.dataset.x, section.dataset.y, section.dataset.z] = at.map((n) => n.toFixed(3));
    section.dataset.line = move.line;
    section.dataset.seconds = time;
    slider.value = time;
    say("clock", `${clock(time)} of ${clock(total)}, line ${move.line}`);
    say("at", `X ${fixed(at[0])}  Y ${fixed(at[1])}  Z ${fixed(at[2])} mm`);
    if (move.line !== shownLine) {
      say("tool", fittedAt(index).says);
      slider.setAttribute("aria-valuetext", `${clock(time)} of ${clock(total)}, line ${move.line}`);
      showLine(move.line);
    }
    draw();
  }

  const say = (what, text) => { find(`[data-say=${what}]`).textContent = text; };

  function showLine(line) {
    shownLine = line;
    const height = bar.offsetHeight;
    bar.style.transform = `translateY(${(line - 1) * height}px)`;
    pane.scrollTop = (line - 1) * height - pane.clientHeight / 2 + height / 2;
  }

  const goToLine = (line) => setTime(moves[firstAt(moves, line)].end);

  let before = 0;
  function frame(now) {
    if (!playing) return;
    setTime(time + Math.min(0.25, (now - before) / 1000) * pace);
    before = now;
    if (time >= total) start(false);
    else requestAnimationFrame(frame);
  }

  function start(on) {
    playing = on;
    play.textContent = on ? "Pause" : "Play";
    if (!on) return;
    if (time >= total) setTime(0);
    before = performance.now();
    requestAnimationFrame(frame);
  }

  // -- Places --

  function choose(spot, settled) {
    chosen = spot;
    const place = find(".place");
    if (spot) {
      place.textContent = "";
      const add = (tag, text) => place.appendChild(Object.assign(document.createElement(tag), { textContent: text }));
      const lines = [
        spot.panel && `on the panel: ${side(spot.panel[0], "right", "left")}, ${side(spot.panel[1], "above", "below")} its middle`,
        `in the program: X ${fixed(spot.x)}, Y ${fixed(spot.y)} mm`,
        `on the bed: X ${fixed(spot.x + tape.work_at[0])}, Y ${fixed(spot.y + tape.work_at[1])} mm`,
        spot.depth ? `${spot.diameter ? `${long(spot.diameter)} wide, ` : ""}${long(spot.depth)} deep` : "marked with the pen",
        `line ${spot.line} of the program`,
        origin && origin !== spot && measured(origin, spot),
      ];
      add("b", spot.depth ? `Hole ${spot.name}` : `Mark ${spot.name}`);
      for (const line of lines) if (line) add("div", line);
    }
    find("[data-act=measure]").disabled = !spot && !origin;
    if (settled) pick.value = spot ? String(spots.indexOf(spot)) : "";
    draw();
  }

  const measured = (a, b) => {
    const [x, y] = [Math.abs(b.x - a.x), Math.abs(b.y - a.y)];
    return `from ${a.name}: ${long(Math.hypot(x, y))} straight, ${trim(x, 2)} mm across, ${trim(y, 2)} mm up or down`;
  };

  /** Measures from the chosen place, or no longer. */
  function measure() {
    origin = origin ? null : chosen;
    const button = find("[data-act=measure]");
    button.textContent = origin ? `Stop measuring from ${origin.name}` : "Measure from here";
    button.setAttribute("aria-pressed", String(Boolean(origin)));
    choose(chosen, true);
  }

  const side = (n, more, less) => `${long(Math.abs(n))} ${n < 0 ? less : more}`;

  function nearest(x, y, within) {
    let best = null, least = within;
    for (const spot of spots) {
      const [sx, sy] = px(spot.x, spot.y), off = Math.hypot(sx - x, sy - y) - (spot.diameter / 2) * scale;
      if (off < least) [best, least] = [spot, off];
    }
    return best;
  }

  /** The nearest place in a direction; sideways counts double, so that rows are followed. */
  function beside(from, [dx, dy]) {
    let best = null, least = Infinity;
    for (const spot of spots) {
      const [x, y] = [spot.x - from.x, spot.y - from.y], ahead = x * dx + y * dy, off = Math.abs(x * dy - y * dx);
      const cost = ahead + 2 * off;
      if (ahead > 0.01 && off <= ahead * 2 && cost < least) [best, least] = [spot, cost];
    }
    return best;
  }

  // -- Zoom --

  function zoom(by, x = view.x + view.w / 2, y = view.y + view.h / 2) {
    const w = Math.min(whole.w, Math.max(whole.w / 60, view.w / by)), h = (w * whole.h) / whole.w;
    look({ x: x - ((x - view.x) * w) / view.w, y: y - ((y - view.y) * h) / view.h, w, h });
  }

  function look(next) {
    const within = (low, at, high) => Math.min(Math.max(low, at), high);
    view = { ...next };
    view.x = within(whole.x, view.x, whole.x + whole.w - view.w);
    view.y = within(whole.y, view.y, whole.y + whole.h - view.h);
    fit();
  }

  const middle = () => (chosen ? [chosen.x, chosen.y] : []);
  const zooms = { in: () => zoom(1.6, ...middle()), out: () => zoom(1 / 1.6), all: () => look(whole) };

  // -- Hands --

  const fingers = new Map();
  const local = (event) => {
    const box = canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  const toMm = ([x, y]) => [view.x + (x - GUTTER) / scale, view.y + (size[1] - GUTTER - y) / scale];
  let dragged = 0;

  stage.addEventListener("pointerdown", (event) => {
    fingers.set(event.pointerId, local(event));
    dragged = 0;
    if (stage.classList.contains("near")) stage.setPointerCapture(event.pointerId);
  });
  stage.addEventListener("pointermove", (event) => {
    const to = local(event), from = fingers.get(event.pointerId);
    if (!from || !stage.classList.contains("near")) {
      const spot = nearest(...to, 14);
      if (spot && spot !== chosen) choose(spot, false);
      return;
    }
    const other = [...fingers].find(([id]) => id !== event.pointerId);
    fingers.set(event.pointerId, to);
    dragged += Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (other) {
      const apart = (p) => Math.hypot(p[0] - other[1][0], p[1] - other[1][1]);
      zoom(apart(to) / Math.max(1, apart(from)), ...toMm(other[1]));
    } else look({ ...view, x: view.x - (to[0] - from[0]) / scale, y: view.y + (to[1] - from[1]) / scale });
  });
  for (const end of ["pointerup", "pointercancel", "pointerleave"])
    stage.addEventListener(end, (event) => fingers.delete(event.pointerId));
  stage.addEventListener("click", (event) => {
    const spot = nearest(...local(event), 22);
    if (spot && dragged < 6) choose(spot, true);
  });
  stage.addEventListener("wheel", (event) => {
    if (!event.ctrlKey) return; // without it the page scrolls
    event.preventDefault();
    zoom(Math.exp(-event.deltaY / 200), ...toMm(local(event)));
  }, { passive: false });

  const arrows = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  stage.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = arrows[event.key];
    if (arrow) choose(chosen ? beside(chosen, arrow) || chosen : inOrder[0] || null, true);
    else if (event.key === "Enter" && chosen) setTime(chosen.time);
    else if (event.key === "m") measure();
    else if (event.key === "+" || event.key === "=") zooms.in();
    else if (event.key === "-") zooms.out();
    else if (event.key === "0") zooms.all();
    else return;
    event.preventDefault();
  });

  section.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    const { act, zoom: how, line } = button.dataset;
    if (how) zooms[how]();
    if (line) goToLine(Number(line));
    if (act === "play") start(!playing);
    if (act === "measure") measure();
    if (act === "on") goToLine(Number(section.dataset.line) + 1);
    if (act === "back") setTime(lineBefore());
  });
  function lineBefore() {
    const here = firstAt(moves, Number(section.dataset.line));
    return here > 0 ? moves[here - 1].end : 0;
  }
  slider.addEventListener("input", () => setTime(Number(slider.value)));
  section.addEventListener("change", (event) => {
    if (event.target.type === "radio") pace = Number(event.target.value);
    if (event.target === pick && pick.value) {
      choose(spots[pick.value], true);
      setTime(chosen.time);
    }
  });
  pane.addEventListener("click", (event) => {
    if (String(getSelection())) return; // a person is copying
    const y = event.clientY - pane.getBoundingClientRect().top + pane.scrollTop;
    goToLine(Math.floor(y / bar.offsetHeight) + 1);
  });

  slider.max = total;
  section.dataset.total = total;
  spots.forEach((spot, i) => pick.add(new Option(spot.name, i)));
  new ResizeObserver(fit).observe(stage);
  setTime(0);
  return () => { forget(); draw(); };
}

/** A place on a move's way; `part` runs from 0 to 1. The pace within one move is taken as even. */
function along(move, part) {
  const { from, to, centre } = move;
  const at = from.map((n, i) => n + (to[i] - n) * part);
  if (!centre) return at;
  const angle = Math.atan2(from[1] - centre[1], from[0] - centre[0]) + sweep(move) * part;
  const r = Math.hypot(from[0] - centre[0], from[1] - centre[1]);
  return [centre[0] + r * Math.cos(angle), centre[1] + r * Math.sin(angle), at[2]];
}

/** The angle of an arc, anticlockwise positive; one that ends where it starts is a whole circle. */
function sweep({ kind, from, to, centre }) {
  const angle = (p) => Math.atan2(p[1] - centre[1], p[0] - centre[0]);
  const turn = angle(to) - angle(from), round = 2 * Math.PI;
  if (kind === "arc-ccw") return turn > 1e-9 ? turn : turn + round;
  return turn < -1e-9 ? turn : turn - round;
}

/** The least distance between neighbours of one row, mm. */
function leastGap(spots) {
  const rows = [...spots].sort((a, b) => a.y - b.y || a.x - b.x);
  let least = Infinity;
  for (let i = 1; i < rows.length; i++)
    if (Math.abs(rows[i].y - rows[i - 1].y) < 0.01) least = Math.min(least, rows[i].x - rows[i - 1].x);
  return least;
}

readColours();
const redraws = data.programs.map((tape) => bench(document.querySelector(`[data-program="${CSS.escape(tape.id)}"]`), tape));
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
  readColours();
  redraws.forEach((redraw) => redraw());
});
