import Module, {createRequire} from "node:module";
import path from "node:path";
import {missingPackage} from "./missing-package.ts";
import {isPackageName} from "./tslab.ts";

/** `require` as cells see it. */
export interface CellRequire {
  (id: string): unknown;
  /** files beside the notebook, compiled by the kernel, that relative imports find before those on disk */
  addFiles(files: readonly {path: string; data: string}[]): void;
}

const ours = createRequire(import.meta.url);

/**
 * Makes the `require` of a notebook. A package is taken from the `node_modules` of the notebook's folder or one above
 * it; where there is none, from our own installation, so that a notebook in any folder finds fairpull and what it
 * brings along.
 *
 * @param provided modules that the kernel itself stands in for
 */
export function createCellRequire(folder: string, provided: Readonly<Record<string, unknown>>): CellRequire {
  const theirs = createRequire(path.join(folder, "cell.js"));
  const texts = new Map<string, string>();
  const loaded = new Map<string, unknown>();

  const requireFrom = (base: string, load: (id: string) => unknown, id: string): unknown => {
    if (id in provided) return provided[id];
    if (id.startsWith(".")) {
      const file = path.resolve(base, /\.[cm]?[jt]sx?$/.test(id) ? id.replace(/\.tsx?$/, ".js") : `${id}.js`);
      const text = texts.get(file);
      if (text !== undefined) return requireText(file, text);
    }
    return withFallback(load, id);
  };
  const requireText = (file: string, text: string): unknown => {
    if (loaded.has(file)) return loaded.get(file);
    const module = new Module(file);
    module.filename = file;
    const load = createRequire(file);
    module.require = ((id: string) => requireFrom(path.dirname(file), load, id)) as never;
    loaded.set(file, module.exports); // for imports in a circle
    (module as unknown as {_compile(text: string, file: string): void})._compile(text, file);
    loaded.set(file, module.exports);
    return module.exports;
  };
  const cellRequire = (id: string) => requireFrom(folder, theirs, id);
  return Object.assign(cellRequire, {
    addFiles(files: readonly {path: string; data: string}[]) {
      for (const file of files) {
        const name = path.resolve(file.path);
        texts.set(name, file.data);
        loaded.delete(name);
      }
    },
  });
}

function withFallback(load: (id: string) => unknown, id: string): unknown {
  try {
    return load(id);
  } catch (error) {
    const {code, message} = error as NodeJS.ErrnoException;
    const missing = code === "MODULE_NOT_FOUND" && message.includes(`'${id}'`) && isPackageName(id);
    if (!missing) throw error;
    try {
      return ours(id);
    } catch (second) {
      if ((second as NodeJS.ErrnoException).code !== "MODULE_NOT_FOUND") throw second;
      throw new Error(missingPackage(id));
    }
  }
}
