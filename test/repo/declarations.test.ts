import assert from "node:assert/strict";
import {createRequire} from "node:module";
import {join, relative} from "node:path";
import type TS from "typescript";
import {beforeAll, describe, it} from "vitest";
import {requireBuild} from "./built.ts";
import {ROOT} from "./tracked-files.ts";

/** TypeScript as it is inside tslab, which checks every cell that imports us. */
const require = createRequire(import.meta.url);
const ts: typeof TS = require(
  require.resolve("@tslab/typescript-for-tslab", {paths: [require.resolve("tslab/package.json")]}),
);

const DIST = join(ROOT, "lib", "dist");
/** As strict as a reader may set it, and with nothing known of Node or the browser. */
const OPTIONS: TS.CompilerOptions = {
  target: ts.ScriptTarget.ES2022,
  lib: ["lib.es2022.d.ts"],
  module: ts.ModuleKind.ESNext,
  moduleResolution: ts.ModuleResolutionKind.Node10,
  types: [],
  strict: true,
  skipLibCheck: false,
  noEmit: true,
};

/** Declarations reachable from one file, and what the compiler has to say about them, "file:line: words". */
function declarations(entry: string, options = OPTIONS) {
  const program = ts.createProgram([entry], options);
  const files = program.getSourceFiles().filter(file => !program.isSourceFileDefaultLibrary(file));
  const diagnostics = ts.getPreEmitDiagnostics(program).map(({file, start, messageText}) => {
    const line = file && start !== undefined ? file.getLineAndCharacterOfPosition(start).line + 1 : 0;
    return `${file ? relative(DIST, file.fileName) : ""}:${line}: ${ts.flattenDiagnosticMessageText(messageText, "\n")}`;
  });
  return {files, diagnostics};
}

/** Every `any` that a declaration file writes, "file:line: text of the declaration". */
function anys(file: TS.SourceFile): string[] {
  const found: string[] = [];
  const visit = (node: TS.Node): void => {
    if (node.kind === ts.SyntaxKind.AnyKeyword) {
      const line = file.getLineAndCharacterOfPosition(node.getStart(file)).line + 1;
      found.push(`${relative(DIST, file.fileName)}:${line}: ${node.parent.getText(file).split("\n")[0]}`);
    }
    ts.forEachChild(node, visit);
  };
  visit(file);
  return found;
}

describe("the published declarations", () => {
  let files: readonly TS.SourceFile[];
  let diagnostics: string[];
  beforeAll(() => {
    requireBuild();
    ({files, diagnostics} = declarations(join(DIST, "index.d.ts")));
  });

  it("type-check under the TypeScript of the notebooks, declarations of ours included", () => {
    assert.match(ts.version, /^5\.0\./); // another one came with tslab: look again at what it can read
    assert.deepEqual(diagnostics, []);
    assert.ok(files.length > 5, `only ${files.length} declaration files were reached`);
  });

  it("are found by a notebook that imports the package by its name", () => {
    // node10 resolution reads `types` only, not `exports`
    const {resolvedModule} = ts.resolveModuleName(
      "fairpull",
      join(ROOT, "notebooks", "cell.ts"),
      OPTIONS,
      ts.sys,
    );
    assert.equal(resolvedModule?.resolvedFileName, join(DIST, "index.d.ts"));
  });

  it("name no type of another package", () => {
    const outside = files.filter(file => relative(DIST, file.fileName).startsWith(".."));
    assert.deepEqual(
      outside.map(file => file.fileName),
      [],
    );
    const named = files.flatMap(file =>
      ts
        .preProcessFile(file.text, true, true)
        .importedFiles.filter(({fileName}) => !fileName.startsWith("."))
        .map(({fileName}) => `${relative(DIST, file.fileName)} names ${fileName}`),
    );
    assert.deepEqual(named, []);
    assert.deepEqual(
      files
        .filter(file => file.typeReferenceDirectives.length > 0)
        .map(file => relative(DIST, file.fileName)),
      [],
    );
  });

  it("hold no any, and no generic that older compilers do not have", () => {
    assert.deepEqual(files.flatMap(anys), []);
    const generic = /\b(?:Float|Int|Uint|BigInt|BigUint)\d+(?:Clamped)?Array<|\bNoInfer</;
    assert.deepEqual(
      files
        .filter(file => generic.test(file.text))
        .map(file => `${relative(DIST, file.fileName)}: ${generic.exec(file.text)?.[0]}`),
      [],
    );
  });
});

describe("the check of declarations", () => {
  it("would see an any and a generic typed array", () => {
    const file = ts.createSourceFile(
      join(DIST, "made-up.d.ts"),
      "export declare const a: any;\nexport declare function f(x: number): Promise<any>;",
      ts.ScriptTarget.ES2022,
      true,
    );
    assert.deepEqual(anys(file), ["made-up.d.ts:1: a: any", "made-up.d.ts:2: Promise<any>"]);
  });
});
