// The pages that are looked at: shipped examples, and one whose every name and comment is an attack.
import {execFile} from "node:child_process";
import {readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {promisify} from "node:util";

const run = promisify(execFile);

export const kAttack = "</script><img src=x onerror=document.title='broken'><script>document.title='broken'</script>";

const kExamples = [
  ["tray-printer-hurried", "wedge-marker"], ["insert-printer", "tray-insert"], ["tag-router", "oak-tag-mm"], ["label-plotter", "seed-labels"],
];

/** Runs `check --html`; a fault ends it with status 1, which is no failure here. */
async function check(program, inputs, out) {
  try {
    await run(program, ["check", ...inputs, "--html", out, "--quiet"]);
  } catch (error) {
    if (error.code !== 1) throw error;
  }
}

function hostileInput(configs, folder) {
  const machine = join(folder, "hostile.toml"), gcode = join(folder, "hostile <img src=x> & 'co'.gcode");
  const text = readFileSync(join(configs, "machines", "tag-router.toml"), "utf8");
  writeFileSync(machine, text.replace(/^name = .*$/m, `name = '''${kAttack}'''`));
  writeFileSync(gcode, `G21 G90 (${kAttack})\nG0 X10 Y10\nG1 X900 F6000 ; ${kAttack}\nX10\nM2\n`);
  return [machine, gcode];
}

/** Writes all pages into `folder`; returns {name: file}. */
export async function makePages(program, configs, folder) {
  const pages = {};
  const file = (name) => (pages[name] = join(folder, name + ".html"));
  const machineFile = (name) => join(configs, "machines", name + ".toml");
  await Promise.all([
    ...kExamples.map(([machine, gcode]) => check(program, [machineFile(machine), join(configs, "programs", gcode + ".gcode")], file(machine))),
    check(program, hostileInput(configs, folder), file("hostile")),
    check(program, [machineFile("tray-printer")], file("settings")),
  ]);
  return pages;
}
