// Charts: one call draws a line chart with a heading, zoom by dragging or by buttons, and the page's own colours.

const hasCharts = typeof uPlot !== "undefined";
// Steps of a time axis, in seconds: decimal below a second, then as clocks have them.
const kTimeSteps = [];
for (let power = -6; power < 0; ++power) for (const digit of [1, 2, 5]) kTimeSteps.push(Number((digit * 10 ** power).toPrecision(1)));
kTimeSteps.push(1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 28800, 86400);

const kDashes = [[], [8, 4], [2, 3], [10, 3, 2, 3], [5, 2], [1, 4]];

/** Zoom buttons for keyboards and fingers. `move(factor, shift)`: new width and shift as shares of the old width. */
function zoomButtons(move, reset) {
  const button = (text, name, run) => make("button", {type: "button", "aria-label": name, title: name, onclick: run}, text);
  return make("div", {class: "zoom", role: "group", "aria-label": "Zoom"},
    button("+", "zoom in", () => move(0.5, 0)), button("−", "zoom out", () => move(2, 0)),
    button("←", "earlier", () => move(1, -0.4)), button("→", "later", () => move(1, 0.4)),
    button("all", "show all", reset));
}

/**
 * spec: {title, x: {label, log, values}, y: [{label, key, side, range, values}], data, series: [{label, colour, dash, width, scale, fill}],
 * bands, before(u, context), after(u, context), onzoom(min, max), zoom: false without buttons, height, least: narrowest x range}
 */
function drawChart(host, spec) {
  const figure = make("figure", {class: "chart"});
  const head = make("figcaption", {}, make("span", {}, spec.title));
  const place = make("div", {class: "plot"});
  figure.append(head, place);
  host.append(figure);
  const all = spec.all || [spec.data[0][0], spec.data[0][spec.data[0].length - 1]];
  const width = () => Math.max(240, place.clientWidth);
  const grid = {stroke: colour("line"), width: 1};
  const only = (filter) => (filter ? Object.assign({filter}, grid) : grid);
  const axis = (more) => Object.assign({stroke: colour("faint"), grid, ticks: grid, font: "12px system-ui, sans-serif",
    labelFont: "12px system-ui, sans-serif", labelSize: 18, size: 44}, more);
  const scales = {x: {time: false, distr: spec.x.log ? 3 : 1, range: spec.x.log ? (u, min, max) => [min, max] : undefined}};
  for (const y of spec.y) scales[y.key] = {range: y.range, auto: true};
  const options = {
    width: width(), height: spec.height || 260, scales,
    legend: {show: spec.series.length > 1 && spec.legend !== false, live: false},
    pxAlign: 0,
    cursor: {drag: {x: true, y: false, dist: 6}, y: false},
    padding: [10, 14, 0, 0],
    axes: [axis({label: spec.x.label || undefined, size: spec.x.hidden ? 6 : 34, incrs: spec.x.incrs, space: 80, values: spec.x.hidden ? (u, list) => list.map(() => "") : spec.x.values,
        grid: only(spec.x.filter), ticks: only(spec.x.filter)}),
      ...spec.y.map((y) => axis({scale: y.key, label: y.label, side: y.side === undefined ? 3 : y.side, size: y.size || 52,
        values: y.values, space: 26, grid: y.side === 1 ? {show: false} : grid, ticks: y.side === 1 ? {show: false} : grid}))],
    series: [{}, ...spec.series.map((s) => ({label: s.label, scale: s.scale || spec.y[0].key, stroke: s.colour,
      width: s.width === undefined ? 1.5 : s.width, dash: s.dash, fill: s.fill, paths: s.steps ? uPlot.paths.stepped({align: 1}) : undefined,
      points: {show: false}}))],
    bands: spec.bands,
    hooks: {
      drawAxes: [(u) => spec.before && inside(u, spec.before)],
      draw: [(u) => spec.after && inside(u, spec.after)],
      setScale: [(u, key) => key === "x" && spec.onzoom && spec.onzoom(u.scales.x.min, u.scales.x.max, chart)],
    },
  };
  const chart = {};
  chart.plot = new uPlot(options, spec.data, place);
  chart.zoomTo = (min, max) => chart.plot.setScale("x", {min, max});
  if (spec.zoom !== false) {
    const move = (factor, shift) => {
      const x = chart.plot.scales.x;
      const span = Math.max(spec.least || 0, Math.min(all[1] - all[0], (x.max - x.min) * factor));
      const middle = (x.min + x.max) / 2 + shift * (x.max - x.min);
      const min = Math.max(all[0], Math.min(all[1] - span, middle - span / 2));
      chart.zoomTo(min, min + span);
    };
    head.append(zoomButtons(move, () => chart.zoomTo(all[0], all[1])));
  }
  new ResizeObserver(() => {
    if (Math.abs(chart.plot.width - width()) > 1) chart.plot.setSize({width: width(), height: options.height});
  }).observe(place);
  return chart;
}

/** Draws with the plotting area as clip; sizes are in device pixels, as the library has them. */
function inside(u, draw) {
  const {left, top, width, height} = u.bbox;
  u.ctx.save();
  u.ctx.beginPath();
  u.ctx.rect(left, top, width, height);
  u.ctx.clip();
  draw(u, u.ctx);
  u.ctx.restore();
}

/** A line across the plot at a value of x or of a y scale, with a word beside it; `row` keeps words of lines that lie close apart. */
function ruleLine(u, context, key, value, text, ink, row = 0) {
  const at = Math.round(u.valToPos(value, key, true)), pixel = devicePixelRatio;
  const {left, top, width, height} = u.bbox;
  context.strokeStyle = ink;
  context.lineWidth = pixel;
  context.setLineDash([6 * pixel, 4 * pixel]);
  context.beginPath();
  if (key === "x") { context.moveTo(at, top); context.lineTo(at, top + height); }
  else { context.moveTo(left, at); context.lineTo(left + width, at); }
  context.stroke();
  context.setLineDash([]);
  if (!text || (key === "x" && (at < left || at > left + width))) return;
  context.font = 11 * pixel + "px system-ui, sans-serif";
  const long = context.measureText(text).width, high = 14 * pixel;
  const before = key !== "x" || at - left > long + 8 * pixel;
  const x = key !== "x" ? left + width - long - 4 * pixel : before ? at - long - 4 * pixel : at + 4 * pixel;
  const y = key !== "x" ? Math.max(top, at - high - pixel) : top + 2 * pixel + row * high;
  // On the colour of the page, so that no trace runs through the word.
  context.fillStyle = colour("sheet");
  context.fillRect(x - 2 * pixel, y, long + 4 * pixel, high);
  context.fillStyle = ink;
  context.textAlign = "left";
  context.textBaseline = "middle";
  context.fillText(text, x, y + high / 2);
}
