import {existsSync} from "node:fs";
import {createRequire} from "node:module";
import path from "node:path";
import {expandShorthand, type SyntaxTools, type ValueFinder} from "./shorthand.ts";

const require = createRequire(import.meta.url);

/** The version of tslab whose insides this folder relies on; `test/kernel/tslab.test.ts` says what to check with another one. */
export const TSLAB_VERSION = "1.0.22";

/** The version of the TypeScript inside that tslab, told before it is loaded. */
export const COMPILER_VERSION = "5.0.4";

/** tslab's converter: one cell of TypeScript to JavaScript, given the declarations of the cells before. */
export interface Converter {
  convert(previous: string, source: string): Converted;
  /** What stands at a position [UTF-16 units from the start of the cell], or nothing. */
  inspect(previous: string, source: string, position: number): QuickInfo | undefined;
  complete(previous: string, source: string, position: number): Completions;
  close(): void;
}

export interface Converted {
  output?: string;
  declOutput?: string;
  lastExpressionVar?: string;
  /** files beside the notebook that the cell imports, compiled */
  sideOutputs?: {path: string; data: string}[];
  diagnostics: Diagnostic[];
}

/** Names that fit at a position, the best first, and the part of the cell that they would replace. */
export interface Completions {
  start: number;
  end: number;
  candidates: string[];
}

/** TypeScript's quick info: kept as it is for `printQuickInfo`. */
export interface QuickInfo {
  displayParts?: {text: string}[];
}

/** A complaint of the compiler; lines and characters count from 0. */
export interface Diagnostic {
  start: Place;
  end: Place;
  messageText: string;
  /** absent = the cell itself */
  fileName?: string;
}

interface Place {
  line: number;
  character: number;
  offset: number;
}

type Options = Record<string, unknown>;
type Transpile = (js: string, options: Options) => {outputText: string};

/** The parts of tslab's TypeScript (a fork of 5.0.4) that are touched here. */
interface TypeScript extends SyntaxTools {
  version: string;
  sys: {
    getCurrentDirectory(): string;
    readFile(file: string, encoding?: string): string | undefined;
    watchFile: unknown;
    getModifiedTime(file: string): Date | undefined;
  };
  ModuleResolutionKind: Record<string, number>;
  createWatchCompilerHost(roots: string[], options: Options, ...rest: unknown[]): Options;
  createAbstractBuilder(roots: string[], options: Options, host: FileHost, ...rest: unknown[]): Builder;
  bindSourceFile(file: unknown, options: Options): void;
  createModuleResolutionCache(folder: string, canonical: (name: string) => string, options: Options): unknown;
  resolveModuleName(name: string, from: string, options: Options, host: unknown, cache: unknown): Resolved;
  transpileModule: Transpile;
}

interface Resolved {
  resolvedModule?: unknown;
}

/** What differs from one converter to the next. */
export interface ConverterOptions {
  /** folder of the notebook: relative imports and packages are looked up there first */
  folder: string;
  /** true = files beside the notebook may change while the converter lives */
  watch: boolean;
}

interface Loaded {
  ts: TypeScript;
  createConverter(options: {isJS: boolean; isBrowser: boolean}): Converter;
  isCompleteCode(source: string): {completed: boolean; indent?: string};
  printQuickInfo(info: QuickInfo): string;
}

let loaded: Loaded | null = null;
let current: ConverterOptions;
let transpile: Transpile;

/**
 * A converter of tslab with compiler options of ours; the first one in a process takes about 1 s.
 *
 * tslab writes its compiler options into its source, and the exports of its compiler module cannot be redefined. But
 * the module object in `require.cache` can be replaced before the converter is first loaded. The copy asks for
 * `bundler` resolution (which reads the `exports` maps of packages), the library of ES2023, the types of Node alone
 * and inline source maps; it looks for a package in our own installation where the notebook's folder has none; and it
 * hands the second compile step of tslab to `throughMaps`, which can keep the source map.
 */
export function createTslabConverter(
  options: ConverterOptions,
  throughMaps: (transpile: Transpile) => Transpile,
): Converter {
  loaded ??= load();
  current = options;
  transpile = throughMaps(loaded.ts.transpileModule);
  return loaded.createConverter({isJS: false, isBrowser: false});
}

/** Whether a console should run the lines typed so far, or wait for more and indent them. */
export function isCompleteCode(source: string): {completed: boolean; indent?: string} {
  loaded ??= load();
  return loaded.isCompleteCode(source);
}

/** Signature and documentation as text. */
export function printQuickInfo(info: QuickInfo): string {
  loaded ??= load();
  return loaded.printQuickInfo(info);
}

/** Version of the TypeScript inside tslab, for provenance. */
export function compilerVersion(): string {
  loaded ??= load();
  return loaded.ts.version;
}

function load(): Loaded {
  const converterFile = require.resolve("tslab/dist/converter.js");
  const compilerFile = require.resolve("@tslab/typescript-for-tslab", {paths: [converterFile]});
  if (require.cache[converterFile])
    throw new Error("kernel: tslab was loaded before its options could be set");
  const ts: TypeScript = require(compilerFile);
  const watchFile = ts.sys.watchFile;
  const types = path.resolve(require.resolve("@types/node/package.json", {paths: [converterFile]}), "../..");
  ts.sys.getCurrentDirectory = () => current.folder;
  const readFile = ts.sys.readFile;
  ts.sys.readFile = (file: string, encoding?: string) => {
    const text = readFile(file, encoding);
    return text !== undefined && file.endsWith(".d.ts") && !current.watch ? withoutDocs(text) : text;
  };
  require.cache[compilerFile]!.exports = {
    ...ts,
    createWatchCompilerHost: (
      roots: string[],
      options: Options,
      sys: unknown,
      _program: unknown,
      ...rest: unknown[]
    ) => {
      ts.sys.watchFile = current.watch ? watchFile : () => ({close() {}});
      Object.assign(options, {
        moduleResolution: ts.ModuleResolutionKind["Bundler"],
        lib: ["lib.es2023.d.ts"],
        types: ["node"],
        typeRoots: [...((options["typeRoots"] as string[] | undefined) ?? []), types],
        inlineSourceMap: true,
        // for names in declarations alone: without it a type from our installation could not be written down
        paths: {"*": ourModules().map(folder => `${relativeTo(current.folder, folder)}/*`)},
      });
      const host = ts.createWatchCompilerHost(roots, options, sys, lightProgram(ts), ...rest);
      resolveFromHereToo(ts, host, roots, options);
      return host;
    },
    transpileModule: (js: string, options: Options) => transpile(js, options),
  };
  const {createConverter, isCompleteCode} = require(converterFile);
  const {printQuickInfo} = require("tslab/dist/inspect.js");
  return {ts, createConverter, isCompleteCode, printQuickInfo};
}

/**
 * Declarations without their documentation, which is four fifths of those of Node and takes the compiler as long as the rest: a
 * run from top to bottom shows it to nobody.
 */
export function withoutDocs(declarations: string): string {
  return declarations.replace(/\/\*\*[\s\S]*?\*\//g, "");
}

/** True for the name that tslab gives to the declarations of earlier cells. */
const isPrevious = (file: string) => file.endsWith("/__prev__.d.ts");

/** Folders of packages that come with us, the nearest first. */
function ourModules(): string[] {
  return (require.resolve.paths("any-package") ?? []).filter(folder => existsSync(folder));
}

function relativeTo(folder: string, file: string): string {
  return path.relative(folder, file).split(path.sep).join("/");
}

function resolveFromHereToo(ts: TypeScript, host: Options, roots: string[], options: Options): void {
  const cache = ts.createModuleResolutionCache(current.folder, name => name, options);
  const here = path.join(import.meta.dirname, "cell.ts");
  const {paths: _paths, ...plain} = options; // packages of the notebook's folder come first
  const resolve = (name: string, from: string) => ts.resolveModuleName(name, from, plain, host, cache);
  host["resolveModuleNameLiterals"] = (literals: {text: string}[], from: string) =>
    literals.map(({text}) => {
      const places = [[text, from]];
      if (isPackageName(text)) places.push([text, here]);
      // earlier cells name types by their file, also in packages that offer no such path
      if (isPrevious(from)) places.push(...ourModules().map(folder => [path.join(folder, text), here]));
      let found: Resolved = {};
      for (const [name, start] of places) {
        found = resolve(name!, start!);
        if (found.resolvedModule !== undefined) break;
      }
      return found;
    });
  // only cells import anything new; what a package imports stays as it was resolved
  const cells = new Set(roots);
  host["hasInvalidatedResolutions"] = (file: string) => cells.has(file);
}

/** True for "danfojs-node" and "@scope/name/part", not for "./file", "/file" or "node:fs". */
export function isPackageName(id: string): boolean {
  return /^(@[^/:]+\/)?[a-z0-9][^:]*$/i.test(id);
}

/** A program of the compiler, as much as tslab asks of it. */
interface Builder {
  getSourceFile(file: string): unknown;
  getSourceFiles(): {fileName: string}[];
  getAllDependencies(file: unknown): string[];
  getProgram(): {getTypeChecker(): ValueFinder};
  emit(file: unknown, write: unknown, token: unknown, declarationsOnly: unknown, steps: object): unknown;
}

interface FileHost {
  getSourceFile(file: string, ...rest: unknown[]): unknown;
  getSourceFileByPath(file: string, path: string, ...rest: unknown[]): unknown;
}

/** Parsed declaration files, shared by all converters of this process: most of the start of a second notebook. */
const parsed = new Map<string, {changed: number; source: unknown}>();

/**
 * How programs are made: without the bookkeeping for incremental builds, which tslab does not use and which would check
 * types where tslab only wants to know the names that a cell declares.
 */
function lightProgram(ts: TypeScript) {
  const sharing = new WeakSet<object>();
  return (roots: string[], options: Options, host: FileHost, ...rest: unknown[]): Builder => {
    if (!sharing.has(host)) {
      sharing.add(host);
      const {getSourceFile, getSourceFileByPath} = host;
      host.getSourceFile = (file, ...more) =>
        sharedFile(ts, file, () => getSourceFile.call(host, file, ...more));
      host.getSourceFileByPath = (file, ...more) =>
        sharedFile(ts, file, () => getSourceFileByPath.call(host, file, ...more));
    }
    const builder = ts.createAbstractBuilder(roots, options, host, ...rest);
    // gives a cell its table of names
    for (const root of roots) ts.bindSourceFile(builder.getSourceFile(root), options);
    const emit = builder.emit.bind(builder);
    const checker = builder.getProgram().getTypeChecker();
    builder.emit = (file, write, token, declarationsOnly, steps) =>
      emit(file, write, token, declarationsOnly, {
        ...steps,
        before: [expandShorthand(ts, checker, isPrevious)],
      });
    // tslab compiles those among them that are no declarations: the files beside the notebook that its cells import
    builder.getAllDependencies = () => builder.getSourceFiles().map(file => file.fileName);
    return builder;
  };
}

function sharedFile(ts: TypeScript, file: string, read: () => unknown): unknown {
  if (!file.endsWith(".d.ts")) return read();
  const known = parsed.get(file);
  if (known && !current.watch) return known.source;
  const changed = ts.sys.getModifiedTime(file)?.getTime();
  if (changed === undefined) return read(); // not on disk: the declarations of earlier cells
  if (known?.changed === changed) return known.source;
  const source = read();
  parsed.set(file, {changed, source});
  return source;
}
