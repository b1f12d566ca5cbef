import {createHash} from "node:crypto";
import {cpSync, existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {dirname, join, relative, sep} from "node:path";
import {runNode} from "./process.mjs";

/** Folders of lib/ that are not compiled: the output, what runs as it is, and what ships as it is. */
const NOT_SOURCES = new Set(["dist", "bin", "schema", "node_modules"]);

/** Folders that an installed package has too, and where: a session to try, and the notebooks to start from. */
const SHIPPED = {"data-demo": "demo", notebooks: "notebooks"};

/** @param {string} root */
const dist = root => join(root, "lib", "dist");
/** @param {string} root */
const stampFile = root => join(dist(root), ".fairpull-build.json");

/**
 * Files below a folder, sorted, with "/" on every system.
 *
 * @param {string} folder
 * @returns {string[]}
 */
function filesBelow(folder) {
  if (!existsSync(folder)) return [];
  return readdirSync(folder, {recursive: true, withFileTypes: true})
    .filter(entry => entry.isFile())
    .map(entry => relative(folder, join(entry.parentPath, entry.name)).split(sep).join("/"))
    .sort();
}

/**
 * Source files, relative to lib/: index.ts and everything in the folders that are compiled.
 *
 * @param {string} root
 * @returns {string[]}
 */
function sources(root) {
  const lib = join(root, "lib");
  return readdirSync(lib, {withFileTypes: true})
    .flatMap(entry => {
      if (entry.isFile()) return entry.name.endsWith(".ts") ? [entry.name] : [];
      return NOT_SOURCES.has(entry.name)
        ? []
        : filesBelow(join(lib, entry.name)).map(file => `${entry.name}/${file}`);
    })
    .sort();
}

/** @param {string} file */
const isCompiled = file => file.endsWith(".ts") && !file.endsWith(".d.ts");

/**
 * What a source file becomes in lib/dist: compiled, or copied beside (style sheets, pictures, JSON).
 *
 * @param {string} file
 * @returns {string[]}
 */
const outputs = file =>
  isCompiled(file) ? [file.replace(/\.ts$/, ".js"), file.replace(/\.ts$/, ".d.ts")] : [file];

/**
 * SHA-256 over names and contents of everything the build reads. Contents, not times: a checkout sets new times.
 *
 * @param {string} root
 */
function sourceHash(root) {
  const hash = createHash("sha256");
  const files = [
    "tsconfig.json",
    "lib/tsconfig.json",
    "node_modules/typescript/package.json",
    ...sources(root).map(file => `lib/${file}`),
    ...Object.keys(SHIPPED).flatMap(folder =>
      filesBelow(join(root, folder)).map(file => `${folder}/${file}`),
    ),
  ];
  for (const file of files)
    hash
      .update(`${file}\0`)
      .update(readFileSync(join(root, file)))
      .update("\0");
  return hash.digest("hex");
}

/**
 * Why lib/ must be compiled, in words; null if lib/dist belongs to the sources.
 *
 * @param {string} root
 * @returns {string | null}
 */
export function buildReason(root) {
  if (!existsSync(stampFile(root))) return "no complete build is recorded";
  if (readFileSync(stampFile(root), "utf8") !== sourceHash(root)) return "a source changed";
  const missing = sources(root)
    .flatMap(outputs)
    .find(file => !existsSync(join(dist(root), file)));
  return missing === undefined ? null : `lib/dist/${missing} is missing`;
}

/**
 * Removes from lib/dist what no source stands behind any more.
 *
 * @param {string} root
 */
function removeStale(root) {
  const wanted = new Set([".tsbuildinfo", ...sources(root).flatMap(outputs)]);
  for (const file of filesBelow(dist(root))) {
    if (!wanted.has(file)) rmSync(join(dist(root), file));
  }
}

/**
 * Compiles lib/ into lib/dist and copies beside it what is not TypeScript, the demo data and the notebooks, so that
 * an installed package has a session to try and templates to start from. Does nothing if lib/dist belongs to the sources.
 *
 * @param {string} root
 * @returns {Promise<boolean>} false if the compiler found an error; its words are on standard error
 */
export async function build(root) {
  const reason = buildReason(root);
  if (reason === null) return true;
  process.stderr.write(`fairpull: ${reason}; compiling lib/\n`);
  const hash = sourceHash(root); // taken before: a file saved during the build is built next time
  rmSync(stampFile(root), {force: true});
  removeStale(root);
  // The compiler trusts its notes and does not look whether an output is still there.
  if (
    sources(root)
      .flatMap(outputs)
      .some(file => !existsSync(join(dist(root), file)))
  ) {
    rmSync(join(dist(root), ".tsbuildinfo"), {force: true});
  }
  const tsc = join(root, "node_modules", "typescript", "bin", "tsc");
  const code = await runNode([tsc, "-p", join("lib", "tsconfig.json")], {cwd: root, output: "stderr"});
  if (code !== 0) {
    process.stderr.write("fairpull: lib/ does not compile; mend the errors above\n");
    return false;
  }
  for (const file of sources(root).filter(file => !isCompiled(file))) {
    mkdirSync(dirname(join(dist(root), file)), {recursive: true});
    cpSync(join(root, "lib", file), join(dist(root), file));
  }
  for (const [from, to] of Object.entries(SHIPPED)) {
    if (!existsSync(join(root, from))) continue;
    cpSync(join(root, from), join(dist(root), to), {
      recursive: true,
      filter: path => !/\.ipynb_checkpoints|node_modules/.test(path),
    });
  }
  writeFileSync(stampFile(root), hash);
  return true;
}
