import {existsSync, realpathSync} from "node:fs";
import path from "node:path";

/**
 * What of the machine the search for npm looks at; a test injects another one.
 *
 * @typedef {object} Machine
 * @property {string} platform `process.platform`
 * @property {string} execPath the running node
 * @property {Record<string, string | undefined>} env
 * @property {(file: string) => boolean} exists
 * @property {(file: string) => string} realPath a file with its symbolic links resolved
 */

/** @type {Machine} */
export const THIS_MACHINE = {
  platform: process.platform,
  execPath: process.execPath,
  env: process.env,
  exists: existsSync,
  realPath: file => realpathSync(file),
};

/**
 * npm's own script, to be run by node itself: `npm` is a shell script on Unix and `npm.cmd` on Windows, which
 * node starts only through a shell, where a blank in a path needs quoting that differs by system.
 *
 * @param {Machine} machine
 * @returns {string | null} path of npm-cli.js, or null where this machine has none
 */
export function npmCli({platform, execPath, env, exists, realPath}) {
  const {basename, delimiter, dirname, join} = platform === "win32" ? path.win32 : path.posix;
  const under = ["node_modules", "npm", "bin", "npm-cli.js"];
  const nodeFolder = dirname(execPath);
  const candidates = [
    // another package manager that runs our script names itself in the same variable
    ...(basename(env["npm_execpath"] ?? "") === "npm-cli.js" ? [env["npm_execpath"] ?? ""] : []),
    platform === "win32" ? join(nodeFolder, ...under) : join(nodeFolder, "..", "lib", ...under),
  ];
  for (const folder of (env["PATH"] ?? env["Path"] ?? "").split(delimiter).filter(Boolean)) {
    if (platform === "win32") candidates.push(join(folder, ...under));
    else if (exists(join(folder, "npm"))) candidates.push(realPath(join(folder, "npm")));
  }
  return candidates.find(file => basename(file) === "npm-cli.js" && exists(file)) ?? null;
}
