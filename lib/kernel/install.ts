import {existsSync, mkdirSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {homedir} from "node:os";
import path from "node:path";
import {fileURLToPath} from "node:url";
import {InputError} from "../result/error.ts";
import {VERSION} from "../result/version.ts";

/** Name under which front-ends know the kernel. */
export const KERNEL_NAME = "fairpull";

/** Packages that a kernel loads before the first cell asks for them. */
const PRELOAD = ["fairpull", "danfojs-node"];

/** A kernelspec as it lies in a folder. */
export interface KernelSpec {
  folder: string;
  argv: string[];
  displayName: string;
  /** true if this program wrote it */
  isOurs: boolean;
}

/**
 * Folder in which Jupyter keeps what belongs to one user: JUPYTER_DATA_DIR, or the usual one of the system, as
 * jupyter_core's `jupyter_data_dir` finds it.
 */
export function jupyterDataFolder(
  env: Readonly<Record<string, string | undefined>> = process.env,
  platform: NodeJS.Platform = process.platform,
  home: string = homedir(),
): string {
  if (env["JUPYTER_DATA_DIR"]) return env["JUPYTER_DATA_DIR"];
  if (platform === "darwin") return path.join(home, "Library", "Jupyter");
  if (platform === "win32")
    return path.join(env["APPDATA"] ?? path.join(home, "AppData", "Roaming"), "jupyter");
  return path.join(env["XDG_DATA_HOME"] || path.join(home, ".local", "share"), "jupyter");
}

/** Folders of all kernels, the user's own first. */
function kernelFolders(dataFolder: string): string[] {
  const paths = (process.env["JUPYTER_PATH"] ?? "").split(path.delimiter).filter(folder => folder !== "");
  const system = process.platform === "win32" ? [] : ["/usr/local/share/jupyter", "/usr/share/jupyter"];
  return [...paths, dataFolder, ...system].map(folder => path.join(folder, "kernels"));
}

/** The kernelspec that a front-end finds under a name, or null. */
export function findKernel(name: string, dataFolder: string = jupyterDataFolder()): KernelSpec | null {
  const folder = kernelFolders(dataFolder)
    .map(kernels => path.join(kernels, name))
    .find(candidate => existsSync(path.join(candidate, "kernel.json")));
  return folder === undefined ? null : readSpec(folder);
}

function readSpec(folder: string): KernelSpec {
  let spec: {argv?: unknown; display_name?: unknown; metadata?: {fairpull?: unknown}} = {};
  try {
    spec = JSON.parse(readFileSync(path.join(folder, "kernel.json"), "utf8"));
  } catch {
    // damaged: nobody's kernel, and not ours to write over
  }
  return {
    folder,
    argv: Array.isArray(spec.argv) ? spec.argv.map(String) : [],
    displayName: String(spec.display_name ?? path.basename(folder)),
    isOurs: spec.metadata?.fairpull !== undefined,
  };
}

/**
 * Writes the kernelspec, with absolute paths of this Node and this installation; no Python is needed.
 *
 * @param name       what notebooks call the kernel by, in their metadata
 * @param dataFolder Jupyter's folder of the user
 * @throws {InputError} a kernel of that name is there that this program did not write, or the folder cannot be written
 */
export function installKernel(name: string, dataFolder: string = jupyterDataFolder()): KernelSpec {
  if (!/^[a-z0-9._-]+$/i.test(name)) {
    throw new InputError(2, {
      code: "kernel-name",
      words: `"${name}" cannot name a kernel`,
      hint: "use letters, digits, dots and hyphens",
    });
  }
  const folder = path.join(dataFolder, "kernels", name);
  if (existsSync(folder)) requireOurs(folder);
  const spec = {
    argv: [
      process.execPath,
      "--no-force-async-hooks-checks",
      "--disable-warning=ExperimentalWarning",
      fileURLToPath(new URL("./kernel.js", import.meta.url)),
      "--preload",
      PRELOAD.join(),
      "{connection_file}",
    ],
    display_name: name === KERNEL_NAME ? "TypeScript (fairpull)" : `TypeScript (fairpull, as ${name})`,
    language: "typescript",
    interrupt_mode: "message",
    metadata: {fairpull: VERSION, debugger: false},
  };
  try {
    mkdirSync(folder, {recursive: true});
    writeFileSync(path.join(folder, "kernel.json"), `${JSON.stringify(spec, null, 2)}\n`);
  } catch (error) {
    throw new InputError(2, {
      code: "kernel-folder",
      file: folder,
      words: `the kernel cannot be installed, ${error instanceof Error ? error.message : error}`,
      hint: "set JUPYTER_DATA_DIR to a folder you may write to, for this and for Jupyter",
    });
  }
  return readSpec(folder);
}

/**
 * Removes a kernelspec that `installKernel` wrote.
 *
 * @returns its folder, or null if there is none
 * @throws {InputError} a kernel of that name is there that this program did not write
 */
export function uninstallKernel(name: string, dataFolder: string = jupyterDataFolder()): string | null {
  const folder = path.join(dataFolder, "kernels", name);
  if (!existsSync(folder)) return null;
  requireOurs(folder);
  rmSync(folder, {recursive: true});
  return folder;
}

function requireOurs(folder: string): void {
  if (readSpec(folder).isOurs) return;
  throw new InputError(2, {
    code: "kernel-not-ours",
    file: folder,
    words: "the kernel there was not written by fairpull and is left alone",
    hint: "remove it yourself, or choose another name with --name",
  });
}
