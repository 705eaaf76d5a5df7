// Puts one program on the page, and again whenever colours or the choice of program change.

let shown = -1;

function chooseProgram(index) {
  if (index === shown) return;
  shown = index;
  const choice = byId("program");
  if (choice) choice.value = String(index);
  drawAll();
}

function drawAll() {
  const program = programs[shown];
  startMap(program);
  if (!hasCharts) {
    for (const id of ["torque", "rates", "moment", "resonance"]) say(id + "-said", "This page was built without charts; the figures are in the table.");
    for (const folded of document.querySelectorAll("details")) folded.open = true;
    return;
  }
  torqueCharts(program);
  rateCharts(program);
  startMoments(program);
  resonanceCharts(program);
}

if (programs.length) {
  wireMap();
  byId("moment-choice").addEventListener("input", (event) => chooseMoment(Number(event.target.value)));
  const choice = byId("program");
  if (choice) choice.addEventListener("input", () => chooseProgram(Number(choice.value)));
  chooseProgram(0);
  const anew = () => { forgetColours(); drawAll(); };
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", anew);
  matchMedia("print").addEventListener("change", anew);
  let width = window.innerWidth;
  window.addEventListener("resize", () => {
    if (window.innerWidth === width) return;
    width = window.innerWidth;
    drawMap();
    drawSketch();
  });
}
document.documentElement.dataset.ready = "yes";
