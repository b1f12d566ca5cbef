import {existsSync, readdirSync, rmSync} from "node:fs";
import {join} from "node:path";
import {pathToFileURL} from "node:url";
import {install} from "./install.mjs";
import {lessons} from "./lessons.mjs";
import {newest} from "./newest.mjs";
import {runNode} from "./process.mjs";
import {release} from "./release.mjs";

/**
 * @typedef {(root: string, args: string[]) => Promise<number>} Task a job after the build; resolves to an exit code
 */

/**
 * A program of an installed package, by the file its `bin` names.
 *
 * @param {string} script below node_modules
 * @param {string[]} own arguments that come before those of the user
 * @returns {Task}
 */
const program = (script, ...own) => {
  return (root, args) => runNode([join(root, "node_modules", script), ...own, ...args], {cwd: root});
};

const VITEST = "vitest/vitest.mjs";
const test = program(VITEST, "run", "--config", "test/vitest.config.ts");
const docs = program("typedoc/bin/typedoc", "--options", ".typedoc.json");
/** @param {string} folder */
const long = folder => program(VITEST, "run", "--config", "test/long.config.ts", "--dir", `test/${folder}`);

/** @type {Task} */
async function check(root, args) {
  /** @type {[string, () => Promise<number>][]} */
  const steps = [
    ["format and lint", () => program("@biomejs/biome/bin/biome", "check", ".")(root, [])],
    ["types", () => program("typescript/bin/tsc", "-p", "tsconfig.json", "--noEmit")(root, [])],
    ["tests", () => test(root, args)],
    ["documentation", () => docs(root, [])],
  ];
  const failed = [];
  for (const [name, step] of steps) {
    process.stderr.write(`fairpull: ${name}\n`);
    if ((await step()) !== 0) failed.push(name);
  }
  process.stderr.write(
    failed.length ? `fairpull: failed: ${failed.join(", ")}\n` : "fairpull: every check passed\n",
  );
  return failed.length ? 1 : 0;
}

/**
 * The other programs a benchmark measures against have a package.json of their own: nothing else needs them.
 *
 * @type {Task}
 */
async function bench(root, args) {
  const rivals = join(root, "test", "perf");
  if (existsSync(join(rivals, "package-lock.json")) && !(await install(rivals))) return 1;
  return long("perf")(root, args);
}

/**
 * Writes the demo data again: each folder of data-demo/ is the scenario of its name with the scenario's own seed, and `workshop`
 * is the practice table of an evening with seed 1.
 *
 * @type {Task}
 */
async function demo(root) {
  const command = join(root, "lib", "bin", "fairpull.mjs");
  for (const {name} of readdirSync(join(root, "data-demo"), {withFileTypes: true}).filter(entry =>
    entry.isDirectory(),
  )) {
    const folder = join("data-demo", name);
    const isEvening = name === "workshop";
    if (isEvening) rmSync(join(root, folder), {recursive: true});
    const options = isEvening ? ["--table", "1", "--seed", "1"] : ["--overwrite-own"];
    const code = await runNode([command, "simulate", name, folder, ...options], {cwd: root});
    if (code !== 0) return code;
    // the lesson is in notebooks/ already
    if (isEvening)
      for (const file of ["notebook.ipynb", "README.md"]) rmSync(join(root, folder, "table-01", file));
  }
  return 0;
}

/** @type {Task} */
async function start(root, args) {
  const module = await import(pathToFileURL(join(root, "lib", "dist", "cli", "start.js")).href);
  return module.start({root, args, out: join(root, "out"), stdout: process.stdout, stderr: process.stderr});
}

/** What `npm start`, `npm test`, … do once packages and build are there. */
export const TASKS = new Map(
  /** @type {[string, Task][]} */ ([
    ["start", start],
    ["test", test],
    ["build", async () => 0],
    ["check", check],
    ["docs", docs],
    ["calibrate", long("calibrate")],
    ["bench", bench],
    ["fuzz", program(VITEST, "run", "--config", "test/fuzz/vitest.config.ts")],
    ["demo", demo],
    ["lessons", lessons],
    ["newest", newest],
    ["release", (root, args) => release(root, args, {check: at => check(at, [])})],
  ]),
);
