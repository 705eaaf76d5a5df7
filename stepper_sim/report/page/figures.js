// Torque against speed, step rate and processor load, resonance: one chart each, from the data of one program.

function torqueCharts(program) {
  const host = byId("torque-charts");
  host.replaceChildren();
  for (const motor of program.motors) {
    const column = (i, factor) => motor.band.map((point) => point[i] * factor);
    const asked = motor.asked;
    const most = Math.log(1 + Math.max(1e-9, ...asked.cells.map((cell) => cell[2])) * 1e3);
    const cellSpeed = 1000 * asked.top_speed_m_s / asked.speeds, cellTorque = asked.top_torque_Nm / asked.torques;
    drawChart(host, {
      title: "Motor " + motor.letter, height: 250, legend: false, zoom: false,
      x: {label: "speed of belt or nut, mm/s"},
      y: [{key: "y", label: "torque, N m", range: (u, min, max) => [0, 1.05 * Math.max(max, motor.worst[1])]}],
      data: [column(0, 1000), column(3, 1), column(1, 1), column(2, 1)],
      series: [{label: "high", colour: colour("link"), width: 0.5}, {label: "low", colour: colour("link"), width: 1.5},
        {label: "nominal", colour: colour("link"), width: 1, dash: [6, 4]}],
      bands: [{series: [1, 2], fill: colour("link") + "33"}],
      after: (u, context) => {
        const w = Math.abs(u.valToPos(cellSpeed, "x", true) - u.valToPos(0, "x", true));
        const h = Math.abs(u.valToPos(cellTorque, "y", true) - u.valToPos(0, "y", true));
        for (const [i, j, seconds] of asked.cells) {
          context.fillStyle = mixed(colour("heat-1"), colour("heat-3"), Math.log(1 + seconds * 1e3) / most);
          context.fillRect(u.valToPos(i * cellSpeed, "x", true), u.valToPos((j + 1) * cellTorque, "y", true), Math.max(2, w), Math.max(2, h));
        }
        context.setLineDash([]);
        context.strokeStyle = colour("ink");
        context.lineWidth = 2 * devicePixelRatio;
        context.beginPath();
        context.arc(u.valToPos(1000 * motor.worst[0], "x", true), u.valToPos(motor.worst[1], "y", true), 7 * devicePixelRatio, 0, 7);
        context.stroke();
      },
      before: (u, context) => {
        const base = 1000 * motor.base_speed_m_s;
        if (base < u.scales.x.max) ruleLine(u, context, "x", base, "base speed", colour("faint"));
      },
    });
  }
}

/** Middle times of the stretches of an envelope. */
function stretchTimes(envelope) {
  return Array.from({length: numbers(envelope, "greatest_f32").length}, (_, i) => (i + 0.5) * envelope.stretch_s);
}

function timeTicks(u, values) {
  const step = values.length > 1 ? values[1] - values[0] : 1;
  return values.map((t) => clock(t, step));
}

function rateCharts(program) {
  const host = byId("rates-charts");
  host.replaceChildren();
  const first = program.motors[0].step_rate_hz, times = stretchTimes(first);
  const kHz = (motor) => Array.from(numbers(motor.step_rate_hz, "greatest_f32"), (rate) => rate / 1000);
  const rates = program.motors.map(kHz);
  const peak = Math.max(0.001, ...rates.map((list) => list.reduce((a, b) => Math.max(a, b), 0)));
  const ceilings = new Map();
  for (const motor of program.motors)
    for (const [name, hz] of [["controller", motor.controller_ceiling_hz], ["driver " + motor.letter, motor.driver_ceiling_hz]])
      if (hz / 1000 < 4 * peak && isFinite(hz) && hz > 0) ceilings.set((hz / 1000).toFixed(2), name + " " + digits(hz / 1000, 4) + " kHz");
  const top = Math.max(peak, ...Array.from(ceilings.keys(), Number)) * 1.08;
  const charts = [];
  const follow = (min, max, from) => {
    for (const chart of charts)
      if (chart !== from && chart.plot && (chart.plot.scales.x.min !== min || chart.plot.scales.x.max !== max)) chart.zoomTo(min, max);
  };
  const all = [0, program.duration_s];
  charts.push(drawChart(host, {
    title: "Step rate", height: 260, all, least: 4 * first.stretch_s,
    x: {label: "time in the program", values: timeTicks, incrs: kTimeSteps},
    y: [{key: "y", label: "kHz", range: () => [0, top]}],
    data: [times, ...rates],
    series: program.motors.map((motor, i) => ({label: "motor " + motor.letter, colour: colour("motor-" + i % 6), dash: kDashes[i % 6]})),
    after: (u, context) => { for (const [at, name] of ceilings) ruleLine(u, context, "y", Number(at), name, colour("fault")); },
    onzoom: follow,
  }));
  const load = Array.from(numbers(program.load, "greatest_f32"), (share) => 100 * share);
  const most = load.reduce((a, b) => Math.max(a, b), 0);
  charts.push(drawChart(host, {
    title: "Processor load", height: 200, all, zoom: false,
    x: {label: "time in the program", values: timeTicks, incrs: kTimeSteps},
    y: [{key: "y", label: "% of the processor", range: () => [0, 1.2 * Math.max(most, 100 * program.processor_share)]}],
    data: [stretchTimes(program.load), load],
    series: [{label: "load", colour: colour("motor-0"), fill: colour("motor-0") + "33"}],
    after: (u, context) => ruleLine(u, context, "y", 100 * program.processor_share, "allowed for stepping " + percent(program.processor_share), colour("fault")),
    onzoom: follow,
  }));
}

function resonanceCharts(program) {
  const host = byId("resonance-charts");
  host.replaceChildren();
  for (const motor of program.motors) {
    const column = (i) => motor.response.map((point) => point[i]);
    const most = Math.max(1, ...motor.reversals.map((bin) => bin[2]));
    const decades = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];
    drawChart(host, {
      title: "Motor " + motor.letter + ": own frequency " + digits(motor.natural_hz[0], 3) + " to " + digits(motor.natural_hz[2], 3) + " Hz",
      height: 250, legend: false, zoom: false,
      x: {label: "frequency, Hz", log: true, filter: (u, splits) => splits.map((v) => ([1, 10, 100, 1000].some((d) => Math.abs(v / d - 1) < 1e-6) ? v : null)), values: (u, values) => values.map((v) => (decades.includes(Math.round(v)) && v >= 1 ? String(Math.round(v)) : ""))},
      // The curves fill the upper part; the bars have a scale of their own and fill the lower third.
      y: [{key: "y", label: "swing grows ×", range: (u, min, max) => [-0.5 * max, 1.05 * max], values: (u, values) => values.map((v) => (v < 0 ? "" : String(v)))},
        {key: "n", label: "reversals", side: 1, range: () => [0, 3.3 * most], values: (u, values) => values.map((v) => (v <= most ? String(v) : ""))}],
      data: [column(0), column(2), column(1), column(3), column(0).map(() => null)],
      series: [{label: "nominal", colour: colour("ink"), width: 1.5}, {label: "low torque", colour: colour("motor-1"), width: 1, dash: [6, 4]},
        {label: "high torque", colour: colour("motor-0"), width: 1, dash: [2, 3]}, {label: "reversals", scale: "n"}],
      before: (u, context) => {
        const from = u.valToPos(motor.near_hz[0], "x", true), to = u.valToPos(motor.near_hz[1], "x", true);
        context.fillStyle = colour("risk") + "22";
        context.fillRect(from, u.bbox.top, to - from, u.bbox.height);
        for (const [low, high, count] of motor.reversals) {
          if (!count) continue;
          const middle = Math.sqrt(low * high);
          context.fillStyle = colour(middle > motor.near_hz[0] && middle < motor.near_hz[1] ? "fault" : "faint");
          const x = u.valToPos(low, "x", true), y = u.valToPos(count, "n", true), base = u.valToPos(0, "n", true);
          context.fillRect(x, Math.min(y, base - 2 * devicePixelRatio), Math.max(1, u.valToPos(high, "x", true) - x - 1), Math.max(base - y, 2 * devicePixelRatio));
        }
      },
    });
  }
}
