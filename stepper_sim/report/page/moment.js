// The worst moment: command, load angle and pulses of one motor over the same stretch of time, zoomed together.

let momentCharts = [], momentShown = -1, momentProgram = null;

/** The command as time, speed and acceleration; each phase has both its ends. */
function commandColumns(moment) {
  const sign = (index, factor) => moment.command.map((point) => point[index] * factor);
  return [moment.command.map((point) => moment.start_s + point[0]), sign(1, 1000), sign(2, 1)];
}

function angleColumns(moment) {
  const low = numbers(moment, "low_i16"), high = numbers(moment, "high_i16");
  const step = (moment.end_s - moment.start_s) / Math.max(1, low.length);
  const times = Array.from({length: low.length}, (_, i) => moment.start_s + (i + 0.5) * step);
  return [times, Array.from(low, (a) => a / 10), Array.from(high, (a) => a / 10)];
}

/** When the rotor first falls a whole tooth pitch behind, for each torque with which it does. */
function slipTimes(moment) {
  const [times, low, high] = angleColumns(moment);
  const first = (torque, angles) => ({torque, at_s: times[angles.findIndex((angle) => Math.abs(angle) >= 360)]});
  return [first("low", low), first("high", high)].filter((slip) => slip.at_s !== undefined);
}

/** The stretch that shows the moment and every slip, close enough to see what happens. */
function firstView(moment, slips) {
  const times = [moment.at_s, ...slips.map((slip) => slip.at_s)];
  const from = Math.min(...times), to = Math.max(...times);
  const span = Math.min(moment.end_s - moment.start_s, Math.max(0.5, 1.3 * (to - from)));
  const min = Math.max(moment.start_s, Math.min(moment.end_s - span, (from + to) / 2 - 0.5 * span));
  return [min, min + span];
}

/** First index whose tick is not below `tick`. */
function firstFrom(ticks, tick) {
  let low = 0, high = ticks.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (ticks[middle] < tick) low = middle + 1; else high = middle;
  }
  return low;
}

const kPixelsPerPulse = 3;  // closer ones are drawn as a grey block

function drawPulses(u, context, moment) {
  const rises = numbers(moment, "rises_u32"), hz = moment.tick_hz;
  const {left, top, width, height} = u.bbox;
  const from = Math.max(0, firstFrom(rises, (u.scales.x.min - moment.start_s) * hz) - 1), to = Math.min(rises.length, firstFrom(rises, (u.scales.x.max - moment.start_s) * hz) + 1);
  const count = to - from, apart = width / Math.max(1, count) / devicePixelRatio;
  const high = top + 0.12 * height, low = top + 0.52 * height;
  const x = (ticks) => u.valToPos(moment.start_s + ticks / hz, "x", true);
  context.lineWidth = devicePixelRatio;
  context.strokeStyle = context.fillStyle = colour("ink");
  if (apart >= kPixelsPerPulse) {
    context.beginPath();
    context.moveTo(left, low);
    for (let i = from; i < to; ++i) {
      const rise = x(rises[i]), fall = Math.max(rise + devicePixelRatio, x(rises[i] + moment.pulse_ticks));
      context.lineTo(rise, low); context.lineTo(rise, high); context.lineTo(fall, high); context.lineTo(fall, low);
    }
    context.lineTo(left + width, low);
    context.stroke();
  } else {
    context.globalAlpha = 0.5;
    for (let i = from; i < to; ++i) context.fillRect(Math.floor(x(rises[i])), high, 1, low - high);
    context.globalAlpha = 1;
  }
  drawDirection(u, context, moment, x);
  sayPulses(moment, rises, from, to, apart, u);
}

function drawDirection(u, context, moment, x) {
  const turns = numbers(moment, "turns_u32"), to = numbers(moment, "turn_to_i8");
  const {left, top, width, height} = u.bbox;
  const y = (direction) => top + (direction > 0 ? 0.68 : 0.92) * height;
  let direction = moment.first_direction;
  context.strokeStyle = colour("motor-1");
  context.beginPath();
  for (let i = 0; i < turns.length; ++i) {
    if (i === 0) context.moveTo(left - 1e4, y(direction));
    context.lineTo(x(turns[i]), y(direction));
    direction = to[i];
    context.lineTo(x(turns[i]), y(direction));
  }
  if (!turns.length) context.moveTo(left, y(direction));
  context.lineTo(left + width, y(direction));
  context.stroke();
}

function sayPulses(moment, rises, from, to, apart, u) {
  let count = 0, least = Infinity, most = 0;
  for (let i = from; i < to; ++i) {
    const at = moment.start_s + rises[i] / moment.tick_hz;
    if (at < u.scales.x.min || at > u.scales.x.max) continue;
    ++count;
    if (i > from) {
      const gap = (rises[i] - rises[i - 1]) / moment.tick_hz;
      least = Math.min(least, gap);
      most = Math.max(most, gap);
    }
  }
  const spacing = count > 1 ? ", " + digits(1e6 * least, 3) + " to " + digits(1e6 * most, 3) + " µs apart" : "";
  say("moment-said", count + (count === 1 ? " pulse" : " pulses") + " in view" + spacing +
    (apart >= kPixelsPerPulse ? "; drawn one by one." : "; too close to draw one by one, zoom in.") +
    (moment.cut ? " Further pulses were not kept, and no load angle is simulated." : "") + " " + sayMarks(moment, u.scales.x));
}

/** In words what the vertical lines mark, and the stretch in view. */
function sayMarks(moment, view) {
  const at = (seconds) => clock(seconds, 0.01);
  const slips = slipTimes(moment).map((slip) => "; with the " + slip.torque + " torque it slips at " + at(slip.at_s)).join("");
  return "In view: " + at(view.min) + " to " + at(view.max) + "; line " + moment.line + " is at " + at(moment.at_s) + slips + ".";
}

function showMoment(index) {
  const moment = momentProgram.moments[index], host = byId("moment-charts");
  momentShown = index;
  host.replaceChildren();
  const all = [moment.start_s, moment.end_s], charts = momentCharts = [];
  let busy = false;
  const follow = (min, max, from) => {
    if (busy) return;
    busy = true;
    for (const chart of charts) if (chart !== from && chart.plot) chart.zoomTo(min, max);
    busy = false;
  };
  const base = moment.start_s < 60 ? 0 : Math.floor(moment.start_s);
  const x = {label: "", hidden: true, incrs: kTimeSteps};
  const timed = {label: base ? "seconds after " + clock(base, 1) : "time in the program, s", incrs: kTimeSteps,
    values: (u, values) => values.map((t) => clock(t - base, values.length > 1 ? values[1] - values[0] : 1).replace(" s", ""))};
  const slips = slipTimes(moment), angled = numbers(moment, "low_i16").length > 0;
  const marks = [{at_s: moment.at_s, text: "line " + moment.line + ", " + clock(moment.at_s), ink: "risk"},
    ...slips.map((slip) => ({at_s: slip.at_s, text: "slips with the " + slip.torque + " torque", ink: "fault"}))];
  // Every chart has the lines, one has the words.
  const here = (named) => (u, context) =>
    marks.forEach((mark, row) => ruleLine(u, context, "x", mark.at_s, named ? mark.text : "", colour(mark.ink), row));
  const [times, speed, acceleration] = commandColumns(moment);
  const chart = (more) => charts.push(drawChart(host, Object.assign({x, all, zoom: false, least: 50e-6, height: 120, onzoom: follow, after: here(false)}, more)));
  chart({title: "Speed told to motor " + moment.letter, zoom: true, after: here(!angled), y: [{key: "y", label: "mm/s"}], data: [times, speed], series: [{label: "speed", colour: colour("motor-0")}]});
  chart({title: "Acceleration", y: [{key: "y", label: "m/s²"}], data: [times, acceleration], series: [{label: "acceleration", colour: colour("motor-2")}]});
  if (angled) {
    const [at, low, high] = angleColumns(moment);
    const most = Math.min(540, Math.max(100, ...[low, high].map((list) => list.reduce((a, b) => Math.max(a, Math.abs(b)), 0))));
    chart({title: "Load angle: how far the rotor lags", height: 200, y: [{key: "y", label: "degrees, electrical", range: () => [-1.05 * most, 1.05 * most]}],
      data: [at, low, high], series: [{label: "low torque", colour: colour("motor-1")}, {label: "high torque", colour: colour("motor-0"), dash: [4, 3]}],
      after: (u, context) => { for (const limit of [90, -90, 360, -360]) if (Math.abs(limit) < 1.05 * most) ruleLine(u, context, "y", limit, limit === 90 ? "90°: torque peaks" : limit === 360 ? "360°: slipped" : "", colour("faint")); here(true)(u, context); }});
  }
  chart({title: "Pulses: step line above, direction below", height: 160, x: timed, legend: false, y: [{key: "y", label: " ", range: () => [0, 1], values: (u, values) => values.map(() => "")}],
    data: [times, times.map(() => null)], series: [{label: "step"}], after: (u, context) => { here(false)(u, context); drawPulses(u, context, moment); }});
  byId("moment-choice").value = String(index);
  charts[0].zoomTo(...firstView(moment, slips));
}

function chooseMoment(index) { if (hasCharts && index !== momentShown) showMoment(index); }

function startMoments(program) {
  momentProgram = program;
  momentShown = -1;
  const choice = byId("moment-choice");
  choice.replaceChildren(...program.moments.map((m, i) => make("option", {value: i}, "motor " + m.letter + ", line " + m.line + ", " + clock(m.at_s))));
  choice.disabled = program.moments.length < 2;
  if (hasCharts && program.moments.length) showMoment(0);
}
