// page_test.mjs BROWSER PROGRAM CONFIGS: opens report pages in a real browser, uses them as a reader would, and looks for errors.
import assert from "node:assert/strict";
import {mkdtempSync, rmSync} from "node:fs";
import {createRequire} from "node:module";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {pathToFileURL} from "node:url";
import {chromium} from "playwright-core";
import {kAttack, makePages, worstOf} from "./pages.mjs";

const [browserPath, program, configs] = process.argv.slice(2);
const axe = createRequire(import.meta.url).resolve("axe-core/axe.min.js");
const kSections = ["verdict", "settings", "map", "torque", "rates", "moment", "resonance", "findings", "cautions", "basis"];
const kFlags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync"];

const folder = mkdtempSync(join(tmpdir(), "stepper_sim-browser-"));
let failed = 0;

/** Opens a page and fails on any error of its scripts, any word on its console and any request. */
async function open(context, file, loud = true) {
  const page = await context.newPage();
  const wrong = [];
  page.on("pageerror", (error) => wrong.push("error: " + error.message));
  // The one word that is let pass is about this test's own reading of pictures.
  page.on("console", (message) => message.text().includes("willReadFrequently") || wrong.push(message.type() + ": " + message.text()));
  page.on("request", (request) => {
    if (!request.url().startsWith("file:") && !request.url().startsWith("data:")) wrong.push("request: " + request.url());
  });
  page.on("dialog", (dialog) => wrong.push("dialog: " + dialog.message()));
  await page.goto(pathToFileURL(file).href);
  await page.waitForSelector("html[data-ready]", {state: "attached"});
  page.wrong = wrong;
  if (loud) assert.deepEqual(wrong, []);
  return page;
}

async function claim(name, test) {
  const started = Date.now();
  try {
    await test();
    console.log(`ok   ${name} (${Date.now() - started} ms)`);
  } catch (error) {
    ++failed;
    console.log(`FAIL ${name}\n${error.stack}`);
  }
}

/** A number that changes when the picture does; 0 for a blank canvas. */
const picture = (page, selector) => page.$eval(selector, (canvas) => {
  const data = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
  let sum = 0;
  for (let i = 0; i < data.length; i += 4) sum = (sum * 31 + data[i] + 7 * data[i + 1] + 13 * data[i + 3]) % 2147483647;
  return sum;
});

const said = (page, id) => page.$eval("#" + id, (element) => element.textContent);

async function drawEverything(page) {
  for (const id of kSections) assert.ok(await page.$("#" + id), "no section " + id);
  for (const selector of ["#map-canvas", "#sketch", "#torque canvas", "#rates canvas", "#moment canvas", "#resonance canvas"])
    assert.notEqual(await picture(page, selector), 0, selector + " is blank");
  assert.deepEqual(page.wrong, []);
}

async function moveSlider(page) {
  const before = await picture(page, "#map-canvas"), level = await said(page, "level-said");
  await page.focus("#level");
  await page.keyboard.press("ArrowRight");
  assert.notEqual(await said(page, "level-said"), level);
  assert.notEqual(await picture(page, "#map-canvas"), before);
  for (const kind of ["torque", "ratio", "speed"]) {
    const last = await picture(page, "#map-canvas");
    await page.check(`input[name=colour][value=${kind}]`);
    assert.notEqual(await picture(page, "#map-canvas"), last, "colour by " + kind + " changes nothing");
  }
}

async function pressMark(page, worst) {
  await page.click("#map-marks button.fault");
  assert.ok((await said(page, "map-said")).includes(`line ${worst.line} at ${worst.time_s.toPrecision(3)} s`), await said(page, "map-said"));
  assert.equal(await page.$eval("#map-lines .here", (line) => line.textContent.trim().replace(/\s+/g, " ")), `${worst.line} ${worst.text}`);
}

/** The chart opens with the finding's own moment and every slip in view, each slip named by its torque. */
async function opensOnTheMoment(page, worst) {
  const text = await said(page, "moment-said");
  const [, from, to, line, at] = text.match(/In view: ([\d.]+) s to ([\d.]+) s; line (\d+) is at ([\d.]+) s/);
  assert.equal(line, String(worst.line));
  const slips = [...text.matchAll(/with the (low|high) torque it slips at ([\d.]+) s/g)];
  assert.deepEqual(slips.map((slip) => slip[1]), ["low", "high"]);
  for (const time of [at, ...slips.map((slip) => slip[2])]) assert.ok(Number(from) <= Number(time) && Number(time) <= Number(to), time + " is not in view: " + text);
}

async function zoomToPulses(page) {
  const before = Number.parseInt(await said(page, "moment-said"), 10);
  assert.ok(before > 100, "few pulses to begin with");
  assert.match(await said(page, "moment-said"), /too close/);
  for (let i = 0; i < 8; ++i) await page.click("#moment button[aria-label='zoom in']");
  const after = await said(page, "moment-said");
  assert.match(after, /drawn one by one/);
  assert.ok(Number.parseInt(after, 10) <= 20, after);
  await page.click("#moment button[aria-label='show all']");
  assert.match(await said(page, "moment-said"), /too close/);
  assert.deepEqual(page.wrong, []);
}

async function dragToZoom(page) {
  const over = await page.$("#moment .u-over");
  await over.scrollIntoViewIfNeeded();
  const box = await over.boundingBox();
  const before = Number.parseInt(await said(page, "moment-said"), 10);
  await page.mouse.move(box.x + box.width * 0.4, box.y + box.height / 2);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width * 0.5, box.y + box.height / 2, {steps: 4});
  await page.mouse.up();
  assert.ok(Number.parseInt(await said(page, "moment-said"), 10) < 0.3 * before);
}

/** The thin tapering example: axis, place and remedy stand on the first screen of a laptop. */
async function readAtAGlance(page, worst) {
  const text = await page.evaluate(() => [...document.querySelectorAll("#verdict *")]
    .filter((e) => !e.children.length && e.getBoundingClientRect().bottom < window.innerHeight).map((e) => e.textContent).join(" ") +
    [...document.querySelectorAll("#verdict dd")].map((e) => e.firstChild.textContent).join(" | "));
  const wanted = `${worst.wanted.axis.toUpperCase()} acceleration to ${Math.round(1000 * worst.wanted.value)} mm/s²`;
  for (const fact of ["It will not work as it is", worst.motor.toUpperCase() + " |", "line " + worst.line, wanted]) assert.ok(text.includes(fact), fact + " not in: " + text);
}

async function staysText(page) {
  assert.equal(await page.$("img"), null);
  assert.notEqual(await page.title(), "broken");
  assert.ok((await said(page, "verdict")).includes("<img src=x"), "the machine's name is not shown as it is");
  assert.ok((await said(page, "findings")).includes(kAttack), "the program's comment is not shown as it is");
  await page.click("#map-marks button");
  assert.ok((await said(page, "map-lines")).includes(kAttack));
  assert.deepEqual(page.wrong, []);
}

async function hasNoBarriers(page, what) {
  // A second world: the page's own rule forbids scripts that are not its own.
  const session = await page.context().newCDPSession(page);
  const {frameTree} = await session.send("Page.getFrameTree");
  const {executionContextId} = await session.send("Page.createIsolatedWorld", {frameId: frameTree.frame.id, worldName: "axe"});
  const {readFileSync} = await import("node:fs");
  await session.send("Runtime.evaluate", {expression: readFileSync(axe, "utf8"), contextId: executionContextId});
  const {result} = await session.send("Runtime.evaluate", {contextId: executionContextId, awaitPromise: true, returnByValue: true,
    expression: "axe.run(document, {resultTypes: ['violations']}).then((r) => r.violations.map((v) => v.id + ': ' + v.help + ' ' + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160)).join(' ; ')))"});
  assert.ok(Array.isArray(result.value), JSON.stringify(result));
  assert.deepEqual(result.value, [], what);
}

/** Without its scripts the page says why there are no pictures. */
async function saysThatScriptsAreBlocked(context, file) {
  const page = await context.newPage();
  await page.goto(pathToFileURL(file).href);
  assert.ok(await page.isVisible(".noscript"));
  assert.match(await page.textContent(".noscript"), /scripts, which are blocked here/);
}

async function fitsNarrowScreens(page) {
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  assert.ok(wide <= 0, `${wide} px too wide`);
  for (const selector of ["nav ul", "#settings .scroll"]) {
    const cut = await page.$eval(selector, (element) => element.scrollWidth - element.clientWidth);
    assert.ok(cut <= 0, `${cut} px of ${selector} are cut`);
  }
}

const pages = await makePages(program, configs, folder);
const browser = await chromium.launch({executablePath: browserPath, args: kFlags});
try {
  const wide = await browser.newContext({viewport: {width: 1440, height: 900}});
  for (const name of ["tray-printer-hurried", "insert-printer", "tag-router", "label-plotter"])
    await claim(`${name}: every section is there, every picture is drawn, nothing is wrong`, async () => drawEverything(await open(wide, pages[name])));
  await claim("blocked scripts are named", async () => {
    const blocked = await browser.newContext({javaScriptEnabled: false});
    await saysThatScriptsAreBlocked(blocked, pages["label-plotter"]);
    await blocked.close();
  });
  await claim("settings alone make a page", async () => assert.deepEqual((await open(wide, pages.settings)).wrong, []));
  await claim("hostile names and comments stay text", async () => staysText(await open(wide, pages.hostile)));
  const wedge = await open(wide, pages["tray-printer-hurried"]);
  const worst = await worstOf(program, configs);
  await claim("axis, place and remedy are seen at a glance", () => readAtAGlance(wedge, worst));
  await claim("a mark shows its line", () => pressMark(wedge, worst));
  await claim("the slider and the colours change the map", () => moveSlider(wedge));
  await claim("the worst moment opens on the moment it names", () => opensOnTheMoment(wedge, worst));
  await claim("zoom goes down to single pulses", () => zoomToPulses(wedge));
  await claim("dragging zooms", () => dragToZoom(wedge));
  for (const colorScheme of ["light", "dark"])
    for (const width of [380, 1440]) {
      const context = await browser.newContext({viewport: {width, height: 800}, colorScheme});
      await claim(`no barriers to access, ${colorScheme}, ${width} px`, async () => {
        const page = await open(context, pages["tray-printer-hurried"]);
        await hasNoBarriers(page, `${colorScheme} ${width}`);
        await fitsNarrowScreens(page);
      });
      await context.close();
    }
} finally {
  await browser.close();
  rmSync(folder, {recursive: true, force: true});
}
process.exit(failed ? 1 : 0);
