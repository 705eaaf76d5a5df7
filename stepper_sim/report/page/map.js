// The part map: the tool path from above, one height at a time, by the page's own code (it is a drawing, not a chart).

const map = {program: null, kind: "worst", level: 0, all: false, travel: true, byLevel: [], order: null, chosen: -1};

const kHeatStops = [0, 0.5, 0.85, 1.2];
const kWidths = [1, 1.2, 2, 3.2, 4.5];
const kClasses = 24;

function heatClass(value) { return Math.max(0, Math.min(kClasses - 1, Math.floor(value / 1.2 * (kClasses - 1) + 1e-9))); }
function heatColour(index) {
  const value = index / (kClasses - 1) * 1.2;
  let i = 0;
  while (i < 2 && value > kHeatStops[i + 1]) ++i;
  const share = Math.max(0, Math.min(1, (value - kHeatStops[i]) / (kHeatStops[i + 1] - kHeatStops[i])));
  return mixed(colour("heat-" + i), colour("heat-" + (i + 1)), i === 0 ? Math.pow(share, 3) : share);
}
function paceColour(index) { return mixed(colour("pace-0"), colour("pace-1"), index / (kClasses - 1)); }

function valueOf(data, i, kind) {
  const torque = numbers(data, "torque_u16")[i] / 1000, ratio = numbers(data, "ratio_u16")[i] / 1000;
  if (kind === "torque") return torque;
  if (kind === "ratio") return ratio;
  if (kind === "speed") return numbers(data, "speed_u16")[i] / 1000 * 1.2;
  return Math.max(torque, ratio);
}

/** Indices of the pieces of each height. */
function piecesByLevel(data) {
  const level = numbers(data, "level_u16");
  const lists = data.levels_m.map(() => []);
  for (let i = 0; i < level.length; ++i) lists[level[i]].push(i);
  return lists;
}

/** Where work is done, over all heights; what only travels may run out of the picture. */
function workBox(data) {
  if (data.box) return data.box;
  const [x0, y0, x1, y1] = ["x0_u16", "y0_u16", "x1_u16", "y1_u16"].map((name) => numbers(data, name));
  const work = numbers(data, "work_u8");
  let any = false, left = 65535, right = 0, low = 65535, high = 0;
  for (let i = 0; i < work.length; ++i) {
    if (!work[i] || (x0[i] === x1[i] && y0[i] === y1[i])) continue;
    any = true;
    left = Math.min(left, x0[i], x1[i]); right = Math.max(right, x0[i], x1[i]);
    low = Math.min(low, y0[i], y1[i]); high = Math.max(high, y0[i], y1[i]);
  }
  // A finding that may cost steps must be in the picture, wherever it is.
  for (const finding of map.program.findings) {
    if (!finding.place_m || finding.grade === "note") continue;
    const x = (finding.place_m[0] - data.x_m) / data.size_m * 65535, y = (finding.place_m[1] - data.y_m) / data.size_m * 65535;
    left = Math.min(left, x); right = Math.max(right, x); low = Math.min(low, y); high = Math.max(high, y);
    any = true;
  }
  if (!any) { left = low = 0; right = 65535 * data.width_m / data.size_m; high = 65535 * data.depth_m / data.size_m; }
  const unit = data.size_m / 65535, least = 0.02 * data.size_m;
  return data.box = {x_m: data.x_m + left * unit, y_m: data.y_m + low * unit,
    width_m: Math.max(least, (right - left) * unit), depth_m: Math.max(least, (high - low) * unit)};
}

/** From metres to pixels, the work filling the picture but for its edge. */
function frameOf(data, width, height, edge) {
  const box = workBox(data);
  const scale = Math.min((width - 2 * edge) / box.width_m, (height - 2 * edge) / box.depth_m);
  const x0 = (width - box.width_m * scale) / 2, y0 = (height + box.depth_m * scale) / 2;
  return {scale, x: (x_m) => x0 + (x_m - box.x_m) * scale, y: (y_m) => y0 - (y_m - box.y_m) * scale};
}

/** A height that suits the part's proportions. */
function pictureHeight(data, width, least, most) {
  const box = workBox(data);
  return Math.round(Math.max(least, Math.min(width * box.depth_m / box.width_m + 60, most)));
}

/** Draws pieces, calm ones first so that the worst lie on top. */
function drawPieces(context, data, pieces, frame, kind, travel) {
  const unit = data.size_m / 65535;
  const [x0, y0, x1, y1] = ["x0_u16", "y0_u16", "x1_u16", "y1_u16"].map((name) => numbers(data, name));
  const work = numbers(data, "work_u8");
  const classes = Array.from({length: kClasses}, () => []);
  const rest = [];
  for (const i of pieces)
    if (work[i]) classes[heatClass(valueOf(data, i, kind))].push(i);
    else if (travel) rest.push(i);
  const stroke = (list) => {
    context.beginPath();
    for (const i of list) {
      context.moveTo(frame.x(data.x_m + x0[i] * unit), frame.y(data.y_m + y0[i] * unit));
      context.lineTo(frame.x(data.x_m + x1[i] * unit), frame.y(data.y_m + y1[i] * unit));
    }
    context.stroke();
  };
  context.lineCap = "round";
  context.strokeStyle = colour("line");
  context.lineWidth = 1;
  context.setLineDash([3, 4]);
  stroke(rest);
  context.setLineDash([]);
  // Travel that is itself near a limit shows its colour too, but stays thin and dashed.
  const hot = Array.from({length: kClasses}, () => []);
  if (kind !== "speed") for (const i of rest) hot[heatClass(valueOf(data, i, kind))].push(i);
  context.lineWidth = 1.5;
  context.setLineDash([5, 5]);
  for (let c = Math.ceil(kClasses * 0.55); c < kClasses; ++c) {
    context.strokeStyle = heatColour(c);
    if (hot[c].length) stroke(hot[c]);
  }
  context.setLineDash([]);
  for (let c = 0; c < kClasses; ++c) {
    if (!classes[c].length) continue;
    const share = kind === "speed" ? 0.3 : c / (kClasses - 1);
    context.strokeStyle = kind === "speed" ? paceColour(c) : heatColour(c);
    const w = share * (kWidths.length - 1), low = Math.floor(w);
    context.lineWidth = kWidths[low] + (kWidths[Math.min(low + 1, kWidths.length - 1)] - kWidths[low]) * (w - low);
    stroke(classes[c]);
  }
}

function nearestLevel(data, height_m) {
  let best = 0;
  data.levels_m.forEach((z, i) => { if (Math.abs(z - height_m) < Math.abs(data.levels_m[best] - height_m)) best = i; });
  return best;
}

function shownPieces() {
  if (!map.all) return map.byLevel[map.level] || [];
  return map.order || (map.order = Array.from({length: map.program.map.count}, (_, i) => i));
}

function drawMap() {
  const canvas = byId("map-canvas"), data = map.program.map;
  const width = canvas.parentElement.clientWidth;
  const height = pictureHeight(data, width, 200, Math.min(window.innerHeight * 0.72, 620));
  const context = sharp(canvas, width, height);
  context.clearRect(0, 0, width, height);
  const frame = map.frame = frameOf(data, width, height, 26);
  const pieces = shownPieces();
  drawPieces(context, data, pieces, frame, map.kind, map.travel);
  drawScale(context, data, frame, width, height);
  placeMarks(frame);
  if (map.chosen >= 0) drawChosen(context, data, frame);
  sayMap(data, pieces);
}

/** A length to compare with, in the corner. */
function drawScale(context, data, frame, width, height) {
  const room = width * 0.25 / frame.scale * 1000;
  const power = Math.pow(10, Math.floor(Math.log10(room)));
  const length = [5, 2, 1].map((n) => n * power).find((l) => l <= room) || power;
  const end = 14 + length / 1000 * frame.scale;
  context.strokeStyle = context.fillStyle = colour("faint");
  context.lineWidth = 1.5;
  context.beginPath();
  context.moveTo(14, height - 16); context.lineTo(14, height - 10); context.lineTo(end, height - 10); context.lineTo(end, height - 16);
  context.stroke();
  context.font = "12px system-ui, sans-serif";
  context.fillText(digits(length, 2) + " mm", 18, height - 15);
}

function drawChosen(context, data, frame) {
  const unit = data.size_m / 65535, i = map.chosen;
  const at = (name, from) => from + numbers(data, name)[i] * unit;
  context.strokeStyle = colour("ink");
  context.lineWidth = 1.5;
  for (const [x, y] of [["x0_u16", "y0_u16"], ["x1_u16", "y1_u16"]]) {
    context.beginPath();
    context.arc(frame.x(at(x, data.x_m)), frame.y(at(y, data.y_m)), 5, 0, 7);
    context.stroke();
  }
}

function sayMap(data, pieces) {
  const word = {worst: "torque use or swing", torque: "torque use", ratio: "swing", speed: "speed"}[map.kind];
  let worst = -1, most = -1;
  for (const i of pieces) {
    const value = valueOf(data, i, map.kind);
    if (value > most) { most = value; worst = i; }
  }
  say("level-said", data.levels_m.length > 1 ? mm(data.levels_m[map.level]) + " (" + (map.level + 1) + " of " + data.levels_m.length + ")" : mm(data.levels_m[0] || 0));
  if (map.chosen >= 0) return;
  if (worst < 0) { say("map-said", "Nothing is done at this height."); return; }
  const amount = map.kind === "speed" ? digits(numbers(data, "speed_u16")[worst] / 1000 * data.top_speed_m_s * 1000, 3) + " mm/s" : percent(most);
  say("map-said", (map.all ? "All heights: " : "This height: ") + "highest " + word + " " + amount + " at line " + numbers(data, "line_u32")[worst] + ", " + clock(numbers(data, "time_f32")[worst]) + ".");
}

function placeMarks(frame) {
  const host = byId("map-marks");
  host.replaceChildren();
  map.program.findings.forEach((finding, index) => {
    if (!finding.place_m) return;
    const level = nearestLevel(map.program.map, finding.place_m[2]);
    const here = map.all || level === map.level;
    const mark = make("button", {type: "button", class: "mark " + finding.grade + (here ? "" : " elsewhere"), "data-finding": index,
      "aria-label": "Finding " + (index + 1) + ", " + finding.grade + ", " + finding.check + (finding.motor ? ", motor " + finding.motor : "") + ", line " + finding.line,
      title: finding.grade + ": line " + finding.line, onclick: () => showFinding(index)}, String(index + 1));
    mark.style.left = frame.x(finding.place_m[0]) + "px";
    mark.style.top = frame.y(finding.place_m[1]) + "px";
    host.append(mark);
  });
}

function showLines(line) {
  const place = byId("map-lines");
  place.replaceChildren();
  for (let l = Math.max(1, line - 2); l <= line + 2; ++l) {
    if (map.program.lines[l] === undefined) continue;
    place.append(make("span", l === line ? {class: "here"} : {}, make("i", {}, String(l)), " " + map.program.lines[l]), "\n");
  }
  place.hidden = !place.childNodes.length;
}

/** A finding's height, line and time; the moment charts follow when that moment was recorded. */
function showFinding(index) {
  const finding = map.program.findings[index];
  if (finding.place_m && !map.all) setLevel(nearestLevel(map.program.map, finding.place_m[2]));
  map.chosen = -1;
  drawMap();
  say("map-said", "Finding " + (index + 1) + ", line " + finding.line + " at " + clock(finding.time_s) + ": " + finding.message);
  showLines(finding.line);
  for (const mark of byId("map-marks").children) mark.toggleAttribute("aria-current", Number(mark.dataset.finding) === index);
  const moment = map.program.moments.findIndex((m) => m.letter === finding.motor && Math.abs(m.at_s - finding.time_s) < 0.1);
  if (moment >= 0) chooseMoment(moment);
}

function setLevel(level) {
  map.level = Math.max(0, Math.min(map.program.map.levels_m.length - 1, level));
  byId("level").value = String(map.level);
}

/** What was pressed on: the nearest piece of the heights shown. */
function askPath(event) {
  const data = map.program.map, box = event.target.getBoundingClientRect(), frame = map.frame;
  const px = event.clientX - box.left, py = event.clientY - box.top, unit = data.size_m / 65535;
  const [x0, y0, x1, y1] = ["x0_u16", "y0_u16", "x1_u16", "y1_u16"].map((name) => numbers(data, name));
  let best = -1, nearest = 14;
  for (const i of shownPieces()) {
    const ax = frame.x(data.x_m + x0[i] * unit), ay = frame.y(data.y_m + y0[i] * unit);
    const bx = frame.x(data.x_m + x1[i] * unit) - ax, by = frame.y(data.y_m + y1[i] * unit) - ay;
    const length2 = bx * bx + by * by;
    const share = length2 ? Math.max(0, Math.min(1, ((px - ax) * bx + (py - ay) * by) / length2)) : 0;
    const distance = Math.hypot(px - ax - share * bx, py - ay - share * by);
    if (distance < nearest) { nearest = distance; best = i; }
  }
  if (best >= 0) showPiece(best);
}

function showPiece(i) {
  const data = map.program.map, motors = numbers(data, "motors_u8")[i];
  const letter = (slot) => map.program.motors[slot].letter;
  map.chosen = i;
  drawMap();
  say("map-said", "Line " + numbers(data, "line_u32")[i] + " at " + clock(numbers(data, "time_f32")[i]) + ": torque use " +
    percent(numbers(data, "torque_u16")[i] / 1000) + " (motor " + letter(motors >> 4) + "), swing " + percent(numbers(data, "ratio_u16")[i] / 1000) +
    " (motor " + letter(motors & 15) + "), up to " + digits(numbers(data, "speed_u16")[i] * data.top_speed_m_s, 3) + " mm/s.");
  showLines(numbers(data, "line_u32")[i]);
}

function drawKey() {
  const host = byId("map-key");
  host.replaceChildren();
  if (map.kind === "speed") {
    host.append("0 ", keyBar(paceColour), " " + digits(1000 * map.program.map.top_speed_m_s, 3) + " mm/s");
    return;
  }
  host.append("0 % ", keyBar(heatColour), " 120 % and more of what the low torque figure allows");
}
function keyBar(colourOf) {
  const canvas = make("canvas", {"aria-hidden": "true"});
  canvas.style.width = "192px";
  const context = sharp(canvas, 192, 14);
  for (let i = 0; i < kClasses; ++i) {
    context.fillStyle = colourOf(i);
    context.fillRect(i * 8, 0, 8, 14);
  }
  return canvas;
}

/** The small picture beside the verdict: the height of the first finding with a place, or the worst height. */
function drawSketch() {
  const figure = document.querySelector(".sketch");
  if (!figure) return;
  const data = map.program.map, index = map.program.findings.findIndex((f) => f.place_m && f.grade !== "note");
  const finding = map.program.findings[index];
  const level = finding ? nearestLevel(data, finding.place_m[2]) : map.level;
  figure.hidden = false;
  const canvas = byId("sketch"), width = figure.clientWidth;
  const height = pictureHeight(data, width, 130, 340);
  const context = sharp(canvas, width, height), frame = frameOf(data, width, height, 26);
  const pieces = fewPerHeight(data) ? Array.from({length: data.count}, (_, i) => i) : map.byLevel[level] || [];
  drawPieces(context, data, pieces, frame, "worst", false);
  if (finding) {
    const x = frame.x(finding.place_m[0]), y = frame.y(finding.place_m[1]);
    context.lineWidth = 3;
    for (const [ink, radius] of [["sheet", 15], ["fault", 12]]) {
      context.strokeStyle = colour(ink);
      context.beginPath();
      context.arc(x, y, radius, 0, 7);
      context.stroke();
    }
  }
  const where = fewPerHeight(data) ? ", all heights" : data.levels_m.length > 1 ? " at height " + mm(data.levels_m[level]) : "";
  say("sketch-said", "The part from above" + where + (finding ? ": the ring marks the place, line " + finding.line : ": the worst of all heights"));
  canvas.setAttribute("aria-label", byId("sketch-said").textContent);
}

/** Paths that climb all the time have no layers: they are looked at all at once. */
function fewPerHeight(data) { return data.levels_m.length > 20 && data.count / data.levels_m.length < 12; }

function worstLevel(data) {
  let most = -1, level = 0;
  for (let i = 0; i < data.count; ++i) {
    const value = valueOf(data, i, "worst");
    if (value > most) { most = value; level = numbers(data, "level_u16")[i]; }
  }
  return level;
}

function startMap(program) {
  Object.assign(map, {program, byLevel: piecesByLevel(program.map), order: null, chosen: -1});
  byId("level").max = String(Math.max(0, program.map.levels_m.length - 1));
  document.querySelector("#map-tools .level").classList.toggle("flat", program.map.levels_m.length < 2);
  map.all = byId("all-levels").checked = fewPerHeight(program.map);
  const first = program.findings.find((f) => f.place_m && f.grade !== "note");
  setLevel(first ? nearestLevel(program.map, first.place_m[2]) : worstLevel(program.map));
  byId("map-lines").hidden = true;
  drawKey();
  drawMap();
  drawSketch();
}

function wireMap() {
  byId("map-tools").addEventListener("submit", (event) => event.preventDefault());
  byId("map-tools").addEventListener("input", () => {
    map.kind = document.querySelector("input[name=colour]:checked").value;
    map.level = Number(byId("level").value);
    map.all = byId("all-levels").checked;
    map.travel = byId("travel").checked;
    map.chosen = -1;
    byId("map-lines").hidden = true;
    drawKey();
    drawMap();
  });
  const canvas = byId("map-canvas");
  canvas.addEventListener("click", askPath);
  canvas.addEventListener("keydown", (event) => {
    const up = {ArrowUp: 1, ArrowDown: -1, PageUp: 10, PageDown: -10}[event.key];
    const along = {ArrowRight: 1, ArrowLeft: -1}[event.key];
    if (up) { setLevel(map.level + up); map.chosen = -1; drawMap(); }
    else if (along) {
      const pieces = shownPieces();
      if (!pieces.length) return;
      const at = pieces.indexOf(map.chosen);
      showPiece(pieces[(at + along + pieces.length) % pieces.length]);
    } else return;
    event.preventDefault();
  });
  for (const button of document.querySelectorAll("button.go"))
    button.addEventListener("click", () => {
      chooseProgram(Number(button.dataset.program));
      showFinding(Number(button.dataset.finding));
      byId("map").scrollIntoView();
      const mark = document.querySelector("#map-marks [aria-current]");
      if (mark) mark.focus({preventScroll: true});
    });
}
