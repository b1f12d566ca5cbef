import {execFileSync} from "node:child_process";
import {cpSync, mkdirSync, mkdtempSync, readFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {dirname, join} from "node:path";
import {npmCli, THIS_MACHINE} from "./npm.mjs";
import {runNode} from "./process.mjs";

/**
 * Packages that stay where they are unless they are named: what holds each back, and what to look at before it may move, stands in
 * DEVELOPERS.md, in the table of versions that are held back; a test holds the two lists equal.
 */
export const HELD_BACK = ["vitest", "jsdom", "katex", "commander", "typescript", "@types/node", "tslab"];

/**
 * @typedef {object} Pin a direct dependency
 * @property {string} name
 * @property {string} version exact
 * @property {"." | "lib"} workspace
 * @property {boolean} isDev
 */

/**
 * Every direct dependency, from both package.json files.
 *
 * @param {string} root
 * @returns {Pin[]}
 */
export function pins(root) {
  return /** @type {const} */ ([".", "lib"]).flatMap(workspace => {
    const manifest = JSON.parse(readFileSync(join(root, workspace, "package.json"), "utf8"));
    return ["dependencies", "devDependencies"].flatMap(kind =>
      Object.entries(manifest[kind] ?? {}).map(([name, version]) => ({
        name,
        version: String(version),
        workspace,
        isDev: kind === "devDependencies",
      })),
    );
  });
}

/**
 * Which pins to try: those named, also when they are held back; without names all that are not held back.
 *
 * @param {Pin[]} all
 * @param {string[]} names
 * @returns {Pin[] | string} or what is wrong with the names
 */
export function wanted(all, names) {
  const unknown = names.find(name => !all.some(pin => pin.name === name));
  if (unknown !== undefined) return `"${unknown}" is no direct dependency`;
  return all.filter(({name}) => (names.length > 0 ? names.includes(name) : !HELD_BACK.includes(name)));
}

/**
 * `npm run newest [-- PACKAGE…]`: tries the newest versions in a copy of the tracked files, with every check, and leaves this tree as it
 * is. Needs a network.
 *
 * @param {string} root
 * @param {string[]} args
 * @returns {Promise<number>} exit code of the checks
 */
export async function newest(root, args) {
  const chosen = wanted(
    pins(root),
    args.filter(word => !word.startsWith("-")),
  );
  if (typeof chosen === "string") {
    process.stderr.write(`newest: ${chosen}; use npm run newest [-- PACKAGE…] [--list]\n`);
    return 2;
  }
  if (args.includes("--list")) {
    for (const {name, version} of chosen) process.stdout.write(`${name} ${version}\n`);
    return 0;
  }
  const npm = npmCli(THIS_MACHINE);
  if (npm === null) {
    process.stderr.write("newest: npm is not found beside this node or on the PATH\n");
    return 1;
  }
  const copy = mkdtempSync(join(tmpdir(), "fairpull-newest-"));
  const files = execFileSync("git", ["ls-files", "-z"], {cwd: root, encoding: "utf8"})
    .split("\0")
    .filter(Boolean);
  for (const file of files) {
    mkdirSync(dirname(join(copy, file)), {recursive: true});
    cpSync(join(root, file), join(copy, file));
  }
  // one call for each kind of dependency, so that npm resolves what belongs together at once
  for (const workspace of [".", "lib"]) {
    for (const isDev of [false, true]) {
      const names = chosen
        .filter(pin => pin.workspace === workspace && pin.isDev === isDev)
        .map(({name}) => `${name}@latest`);
      if (names.length === 0) continue;
      const where = workspace === "." ? [] : ["--workspace", workspace];
      const options = [
        "install",
        "--save-exact",
        isDev ? "--save-dev" : "--save-prod",
        "--no-audit",
        "--no-fund",
        ...where,
        ...names,
      ];
      if ((await runNode([npm, ...options], {cwd: copy})) !== 0) return 1;
    }
  }
  const after = pins(copy);
  for (const {name, version} of chosen) {
    const now = after.find(pin => pin.name === name)?.version;
    if (now !== version) process.stdout.write(`newest: ${name} ${version} → ${now}\n`);
  }
  const code = await runNode([join(copy, "lib", "bin", "prepare.mjs"), "check"], {cwd: copy});
  process.stdout.write(
    `newest: ${code === 0 ? "every check passed" : "checks failed"} in ${copy}; delete it when you have looked\n`,
  );
  return code;
}
