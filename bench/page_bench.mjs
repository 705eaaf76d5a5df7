// Question: how large is the page of a 3-million-move program, and how long does a browser take to draw it, against an empty page?
// Included: reading the file, scripts, all pictures, two frames. Excluded: making the page (its time is printed). The program is 300 heights
// of rings in short chords and a dense zig-zag, the shape of a long print. Compare the ratio, not the times.
//
//   node bench/page_bench.mjs PROGRAM BROWSER FOLDER     FOLDER: where the browser test's node_modules are, build/ci/tests/browser
import {spawnSync} from "node:child_process";
import {createWriteStream, mkdtempSync, rmSync, statSync, writeFileSync} from "node:fs";
import {once} from "node:events";
import {createRequire} from "node:module";
import {tmpdir} from "node:os";
import {join, resolve} from "node:path";
import {pathToFileURL} from "node:url";

const [program, browserPath, tools] = process.argv.slice(2);
const {chromium} = createRequire(join(resolve(tools), "package.json"))("playwright-core");
const kHeights = 300, kRings = 20, kChords = 400, kStrokes = 2000, kRuns = 5;
const kFlags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync"];

async function writeProgram(file) {
  const out = createWriteStream(file);
  let filament = 0;
  out.write("G21\nG90\nG1 F6000\n");
  for (let k = 1; k <= kHeights; ++k) {
    let text = `G0 Z${(0.2 * k).toFixed(2)}\n`;
    const go = (x, y, more) => { text += `G1 X${x.toFixed(3)} Y${y.toFixed(3)} E${(filament += more).toFixed(3)}\n`; };
    for (let ring = 0; ring < kRings; ++ring)
      for (let i = 0; i < kChords; ++i) {
        const angle = 2 * Math.PI * i / kChords, radius = (20 + 2 * ring) * (1 + 0.1 * Math.sin(5 * angle + 0.02 * k));
        go(100 + radius * Math.cos(angle), 100 + radius * Math.sin(angle), 0.01);
      }
    for (let i = 0; i < kStrokes; ++i) go(60 + 0.04 * i, i % 2 ? 95 : 105, 0.02);
    if (!out.write(text)) await once(out, "drain");
  }
  out.end();
  await once(out, "finish");
}

async function drawing(browser, file) {
  const page = await browser.newPage({viewport: {width: 1440, height: 900}});
  const started = performance.now();
  await page.goto(pathToFileURL(file).href);
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
  const took = performance.now() - started;
  await page.close();
  return took;
}

const median = (list) => list.sort((a, b) => a - b)[Math.floor(list.length / 2)];

const folder = mkdtempSync(join(tmpdir(), "stepper_sim-page-bench-"));
try {
  const gcode = join(folder, "long.gcode"), page = join(folder, "long.html"), empty = join(folder, "empty.html");
  await writeProgram(gcode);
  writeFileSync(empty, "<!DOCTYPE html><title>empty</title><p>empty");
  const machine = new URL("../configs/machines/tray-printer.toml", import.meta.url).pathname;
  const started = performance.now();
  const made = spawnSync(program, ["check", machine, gcode, "--html", page, "--quiet"], {encoding: "utf8"});
  if (made.status > 1) throw new Error(made.stderr);
  console.log(`page made in ${((performance.now() - started) / 1000).toFixed(1)} s, ${(statSync(page).size / 1e6).toFixed(2)} MB`);
  const browser = await chromium.launch({executablePath: browserPath, args: kFlags});
  const times = {empty: [], long: []};
  for (let i = 0; i < kRuns; ++i) {
    times.empty.push(await drawing(browser, empty));
    times.long.push(await drawing(browser, page));
  }
  await browser.close();
  const [bare, long] = [median(times.empty), median(times.long)];
  console.log(`empty page ${bare.toFixed(0)} ms, 3 million moves ${long.toFixed(0)} ms, ratio ${(long / bare).toFixed(1)} (median of ${kRuns})`);
} finally {
  rmSync(folder, {recursive: true, force: true});
}
