import remapping from "@jridgewell/remapping";
import type {CellError} from "./error.ts";
import {missingPackage} from "./missing-package.ts";
import {
  type Completions,
  createTslabConverter,
  type Diagnostic,
  isPackageName,
  printQuickInfo,
} from "./tslab.ts";

/** A cell ready to run. */
export interface CompiledCell {
  /** body of an async function of (exports, require), or null if the cell declares types alone */
  code: string | null;
  /** name under which the value of the last expression is exported, or null if the cell does not end in one */
  lastValue: string | null;
  /** files beside the notebook that the cell imports, compiled */
  sideFiles: {path: string; data: string}[];
  /** source map (JSON text) from `code` to the cell, or null; its lines are those of the cell, counted from 2 */
  map: string | null;
  /** declarations of this and all earlier cells: what the next cell is compiled against */
  declarations: string;
}

/** Compiles the cells of one notebook. */
export interface Compiler {
  /**
   * @param previous declarations after the cell before, "" for the first one
   * @returns the compiled cell, or the error that keeps it from running
   */
  compile(previous: string, source: string): CompiledCell | CellError;
  /** Names that fit at a position of the cell [UTF-16 units]. */
  complete(previous: string, source: string, position: number): Completions;
  /** Type and documentation of what stands at a position of the cell [UTF-16 units], or null. */
  inspect(previous: string, source: string, position: number): string | null;
  close(): void;
}

/**
 * Starts a compiler for the notebooks of a folder: tslab's converter, so that variables may be declared anew, types
 * are checked and the last expression is the cell's value.
 *
 * @param options.watch true if files beside the notebook may change while the compiler lives (an editor's kernel)
 */
export function createCompiler({folder, watch = false}: {folder: string; watch?: boolean}): Compiler {
  let map: string | null = null;
  const converter = createTslabConverter({folder, watch}, transpile => (js, options) => {
    const first = withoutInlineMap(js);
    const result = transpile(first.code, {
      ...options,
      compilerOptions: {...(options["compilerOptions"] as object), inlineSourceMap: true},
    });
    const second = withoutInlineMap(result.outputText);
    map = first.map && second.map && composed(second.map, first.map);
    return {...result, outputText: second.code};
  });
  return {
    compile(previous, source) {
      const converted = converter.convert(previous, source);
      if (converted.diagnostics.length) return typeScriptError(converted.diagnostics, source);
      return {
        code: converted.output ?? null,
        lastValue: converted.lastExpressionVar ?? null,
        sideFiles: converted.sideOutputs ?? [],
        map,
        declarations: converted.declOutput ?? "",
      };
    },
    complete: (previous, source, position) => converter.complete(previous, source, position),
    inspect(previous, source, position) {
      const info = converter.inspect(previous, source, position);
      return info === undefined ? null : printQuickInfo(info);
    },
    close: () => converter.close(),
  };
}

function withoutInlineMap(js: string): {code: string; map: string | null} {
  const match = /\n?\/\/# sourceMappingURL=data:application\/json;base64,([\w+/=]+)\s*$/.exec(js);
  if (!match) return {code: js, map: null};
  return {code: js.slice(0, match.index), map: Buffer.from(match[1]!, "base64").toString()};
}

/** tslab compiles twice: TypeScript → ES module → CommonJS. One map for both steps. */
function composed(outer: string, inner: string): string {
  let innermost = false;
  const map = remapping(outer, () => {
    if (innermost) return null;
    innermost = true;
    return inner;
  });
  return map.toString();
}

/** The compiler's complaints as the error of a cell: message, source line and underline. */
function typeScriptError(diagnostics: readonly Diagnostic[], source: string): CellError {
  const count = diagnostics.length;
  const lines = source.split("\n");
  const traceback = [`TypeScript found ${count} problem${count > 1 ? "s" : ""}; the cell was not run.`];
  for (const {start, end, messageText, fileName} of diagnostics) {
    const place = `line ${start.line + 1}, column ${start.character + 1}`;
    traceback.push(`${fileName ? `${fileName} ` : ""}${place}: ${withRemedy(messageText)}`);
    const line = fileName === undefined ? lines[start.line] : undefined;
    if (!line) continue;
    const width = Math.max(1, Math.min(end.offset - start.offset, line.length - start.character));
    traceback.push(`  ${line}`, `  ${" ".repeat(start.character)}${"~".repeat(width)}`);
  }
  const first = diagnostics[0]!;
  return {
    ename: "TypeScriptError",
    evalue: `line ${first.start.line + 1}: ${withRemedy(first.messageText)}`,
    traceback,
  };
}

/** TypeScript's words; for a package that is not there, also the command that installs it. */
function withRemedy(message: string): string {
  const [, missing] = /^Cannot find module '([^']+)'/.exec(message) ?? [];
  return missing !== undefined && isPackageName(missing) ? missingPackage(missing) : message;
}
