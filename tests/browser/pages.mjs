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

/** Runs `check` and returns what it prints; a fault ends it with status 1, which is no failure here. */
async function check(program, inputs, option, out) {
  try {
    return (await run(program, ["check", ...inputs, option, out, "--quiet"])).stdout;
  } catch (error) {
    if (error.code !== 1) throw error;
    return error.stdout;
  }
}

function hostileInput(configs, folder) {
  const machine = join(folder, "hostile.toml"), gcode = join(folder, "hostile <img src=x> & 'co'.gcode");
  const text = readFileSync(join(configs, "machines", "tag-router.toml"), "utf8");
  writeFileSync(machine, text.replace(/^name = .*$/m, `name = '''${kAttack}'''`));
  writeFileSync(gcode, `G21 G90 (${kAttack})\nG0 X10 Y10\nG1 X900 F6000 ; ${kAttack}\nX10\nM2\n`);
  return [machine, gcode];
}

/** What `check --json` says of the first example: its worst finding, that line of the program, and the setting to change. */
export async function worstOf(program, configs) {
  const [machine, gcode] = kExamples[0], text = join(configs, "programs", gcode + ".gcode");
  const json = await check(program, [join(configs, "machines", machine + ".toml"), text], "--json", "-");
  const {findings: [worst], change_first: first} = JSON.parse(json);
  return {...worst, text: readFileSync(text, "utf8").split("\n")[worst.line - 1], wanted: first.settings[0]};
}

/** Writes all pages into `folder`; returns {name: file}. */
export async function makePages(program, configs, folder) {
  const pages = {};
  const file = (name) => (pages[name] = join(folder, name + ".html"));
  const machineFile = (name) => join(configs, "machines", name + ".toml");
  await Promise.all([
    ...kExamples.map(([machine, gcode]) => check(program, [machineFile(machine), join(configs, "programs", gcode + ".gcode")], "--html", file(machine))),
    check(program, hostileInput(configs, folder), "--html", file("hostile")),
    check(program, [machineFile("tray-printer")], "--html", file("settings")),
  ]);
  return pages;
}
