#!/usr/bin/env node
import {realpathSync} from "node:fs";
import {fileURLToPath} from "node:url";
import {build} from "./prepare/build.mjs";
import {install} from "./prepare/install.mjs";
import {nodeVersionProblem} from "./prepare/node-version.mjs";
import {TASKS} from "./prepare/tasks.mjs";

/**
 * Behind every npm script: brings packages and build up to date, then does the task. With nothing to bring up to date
 * it costs about a tenth of a second. Node's own modules only, since it runs before anything is installed.
 *
 * @param {string | undefined} task first argument: start, test, build, …
 * @param {string[]} args the others, handed to the task
 * @param {string} root
 * @returns {Promise<number>} exit code; 2 if there is no such task
 */
export async function prepare(task, args, root) {
  const run = TASKS.get(task ?? "");
  if (run === undefined) {
    const found = task === undefined ? "no task" : `unknown task "${task}"`;
    process.stderr.write(`prepare: ${found}; use one of ${[...TASKS.keys()].join(", ")}\n`);
    return 2;
  }
  const tooOld = nodeVersionProblem(process.versions.node);
  if (tooOld !== null) {
    process.stderr.write(`${tooOld}\n`);
    return 1;
  }
  if (!(await install(root)) || !(await build(root))) return 1;
  return run(root, args);
}

// native: on Windows the two may differ in the case of the drive letter
const real = realpathSync.native;
if (process.argv[1] !== undefined && real(process.argv[1]) === real(fileURLToPath(import.meta.url))) {
  const [task, ...args] = process.argv.slice(2);
  prepare(task, args, fileURLToPath(new URL("../..", import.meta.url))).then(code => {
    process.exitCode = code;
  });
}
