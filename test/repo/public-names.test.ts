import assert from "node:assert/strict";
import {join} from "node:path";
import ts from "typescript";
import {describe, expect, it} from "vitest";
import {ROOT} from "./tracked-files.ts";

/** Names that `import … from "fairpull"` can ask for, one a line; types are marked. */
function publicNames(): string {
  const index = join(ROOT, "lib", "index.ts");
  const {options} = ts.parseJsonConfigFileContent(
    ts.readConfigFile(join(ROOT, "tsconfig.json"), ts.sys.readFile).config,
    ts.sys,
    ROOT,
  );
  const program = ts.createProgram([index], options);
  const checker = program.getTypeChecker();
  const source = program.getSourceFile(index);
  const module = source && checker.getSymbolAtLocation(source);
  assert.ok(module, `${index} is missing or exports nothing`);
  const names = checker.getExportsOfModule(module).map(symbol => {
    const target = symbol.flags & ts.SymbolFlags.Alias ? checker.getAliasedSymbol(symbol) : symbol;
    return target.flags & ts.SymbolFlags.Value ? symbol.name : `${symbol.name} (type)`;
  });
  return `${names.sort().join("\n")}\n`;
}

describe("the public names", () => {
  it("are those of public-names.txt; after a change meant so: npm test -- test/repo/public-names -u", async () => {
    await expect(publicNames()).toMatchFileSnapshot("public-names.txt");
  });
});
