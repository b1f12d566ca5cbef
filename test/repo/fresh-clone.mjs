#!/usr/bin/env node
/**
 * By hand: node test/repo/fresh-clone.mjs
 *
 * The whole promise at once, too slow for the suite (a real npm ci, 700 MB): clones what is committed here into a
 * temporary folder with a blank in its name, and runs `npm start`, `npm start` again and `npm test` there, with nothing else.
 * Fails if one of them fails, or if the second start installs or builds again.
 */
import {spawnSync} from "node:child_process";
import {existsSync, mkdtempSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {npmCli, THIS_MACHINE} from "../../lib/bin/prepare/npm.mjs";

const npm = npmCli(THIS_MACHINE);
if (npm === null) throw new Error("npm was not found beside node nor on PATH");
const folder = mkdtempSync(join(tmpdir(), "fairpull fresh clone "));
const clone = join(folder, "fair pull");
let failed = false;

/**
 * @param {string} name
 * @param {string} command
 * @param {string[]} args
 * @param {string} cwd
 * @returns {string} what it wrote, standard error after standard output
 */
function run(name, command, args, cwd) {
  const from = performance.now();
  const {status, stdout, stderr} = spawnSync(command, args, {cwd, encoding: "utf8", maxBuffer: 1e9});
  const seconds = ((performance.now() - from) / 1000).toFixed(1);
  process.stdout.write(`\n== ${name}: exit code ${status}, ${seconds} s\n${stdout}${stderr}`);
  failed ||= status !== 0;
  return stdout + stderr;
}

run("git clone", "git", ["clone", "--quiet", fileURLToPath(new URL("../..", import.meta.url)), clone], folder);
run("npm start", process.execPath, [npm, "start"], clone);
const again = run("npm start, again", process.execPath, [npm, "start"], clone);
if (/running npm ci|compiling lib/.test(again)) {
  process.stdout.write("the second npm start installed or built again\n");
  failed = true;
}
if (!existsSync(join(clone, "out", "index.html"))) {
  process.stdout.write("npm start left no out/index.html\n");
  failed = true;
}
run("npm test", process.execPath, [npm, "test"], clone);
rmSync(folder, {recursive: true, force: true});
process.stdout.write(failed ? "\nfresh clone: failed\n" : "\nfresh clone: all is well\n");
process.exitCode = failed ? 1 : 0;
