import {createHash} from "node:crypto";
import {existsSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {npmCli, THIS_MACHINE} from "./npm.mjs";
import {runNode} from "./process.mjs";

/** @typedef {{lock: string, node: number}} Stamp */

/**
 * The stamp lives inside node_modules, so that deleting the folder deletes it too.
 *
 * @param {string} folder
 */
const stampFile = folder => join(folder, "node_modules", ".fairpull-stamp.json");

/**
 * What an installation depends on: the lock file and the major version of Node (compiled add-ons).
 *
 * @param {string} folder
 * @param {string} nodeVersion
 * @returns {Stamp}
 */
function stampNow(folder, nodeVersion) {
  const lock = readFileSync(join(folder, "package-lock.json"));
  return {lock: createHash("sha256").update(lock).digest("hex"), node: Number.parseInt(nodeVersion, 10)};
}

/**
 * @param {string} folder
 * @returns {Stamp | null} null if the last installation did not end, or there was none
 */
function stampThen(folder) {
  try {
    return JSON.parse(readFileSync(stampFile(folder), "utf8"));
  } catch {
    return null;
  }
}

/**
 * Packages of the lock file that are not in node_modules. Optional ones are left out: which of them npm installs
 * depends on system and processor.
 *
 * @param {string} folder
 * @returns {string[]}
 */
export function missingPackages(folder) {
  const {packages} = JSON.parse(readFileSync(join(folder, "package-lock.json"), "utf8"));
  return Object.keys(packages).filter(
    place =>
      place.includes("node_modules/") &&
      !packages[place].optional &&
      !existsSync(join(folder, place, "package.json")),
  );
}

/**
 * Why packages must be installed, in words; null if what is there is complete and belongs to the lock file.
 *
 * @param {string} folder folder with package-lock.json
 * @param {string} [nodeVersion] "20.19.0"
 * @returns {string | null}
 */
export function installReason(folder, nodeVersion = process.versions.node) {
  if (!existsSync(join(folder, "node_modules"))) return "the packages are not installed yet";
  const [then, now] = [stampThen(folder), stampNow(folder, nodeVersion)];
  if (then === null) return "no complete installation of the packages is recorded";
  if (then.lock !== now.lock) return "package-lock.json changed";
  if (then.node !== now.node)
    return `Node ${now.node} runs, the packages were installed for Node ${then.node}`;
  const missing = missingPackages(folder);
  return missing.length ? `${missing.length} packages are missing, ${missing[0]} the first` : null;
}

/**
 * Installs exactly what the lock file names, if that is not there already.
 *
 * The stamp goes before npm starts and comes after it ended well: an installation that was killed is done again.
 * `--include=dev` because NODE_ENV=production would leave out the compiler.
 *
 * @param {string} folder folder with package-lock.json
 * @param {import("./npm.mjs").Machine} [machine]
 * @returns {Promise<boolean>} false if it failed; the reason is on standard error
 */
export async function install(folder, machine = THIS_MACHINE) {
  const reason = installReason(folder);
  if (reason === null) return true;
  const npm = npmCli(machine);
  if (npm === null) {
    process.stderr.write(
      `fairpull: ${reason}, but npm was not found beside ${machine.execPath} nor on PATH; install npm, or start by: npm start\n`,
    );
    return false;
  }
  process.stderr.write(`fairpull: ${reason}; running npm ci (about a minute)\n`);
  rmSync(stampFile(folder), {force: true});
  const code = await runNode([npm, "ci", "--include=dev"], {cwd: folder, output: "stderr"});
  if (code !== 0) {
    process.stderr.write(
      `fairpull: npm ci ended with exit code ${code}; see its lines above, then run the command again\n`,
    );
    return false;
  }
  const missing = missingPackages(folder);
  if (missing.length) {
    process.stderr.write(
      `fairpull: npm ci left out ${missing.length} packages of package-lock.json (${missing[0]} the first); look for "omit" in npm config ls\n`,
    );
    return false;
  }
  writeFileSync(stampFile(folder), JSON.stringify(stampNow(folder, process.versions.node)));
  return true;
}
