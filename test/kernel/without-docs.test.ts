import assert from "node:assert/strict";
import {readdirSync, readFileSync} from "node:fs";
import {createRequire} from "node:module";
import path from "node:path";
import {describe, it} from "vitest";
import {withoutDocs} from "../../lib/kernel/tslab.ts";

const require = createRequire(import.meta.url);
// the compiler that runs the cells, found as the converter finds it
const compiler = require.resolve("@tslab/typescript-for-tslab", {
  paths: [require.resolve("tslab/dist/converter.js")],
});
const ts = require(compiler);

const printer = ts.createPrinter({removeComments: true});
const printed = (text: string): string =>
  printer.printFile(ts.createSourceFile("some.d.ts", text, ts.ScriptTarget.Latest));

describe("withoutDocs", () => {
  it("leaves every declaration of Node and of ECMAScript", () => {
    const folders = [path.dirname(require.resolve("@types/node/package.json")), path.dirname(compiler)];
    const files = folders.flatMap(folder =>
      readdirSync(folder)
        .filter(name => name.endsWith(".d.ts") && !/^(typescript|tsserver)|dom|webworker/.test(name))
        .map(name => path.join(folder, name)),
    );
    assert.ok(files.length > 100, `${files.length} files`);
    let [before, after] = [0, 0];
    for (const file of files) {
      const text = readFileSync(file, "utf8");
      const bare = withoutDocs(text);
      assert.equal(printed(bare), printed(text), file);
      [before, after] = [before + text.length, after + bare.length];
    }
    assert.ok(after < 0.5 * before, `${after} of ${before} characters are left`);
  });
});
