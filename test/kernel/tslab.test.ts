import assert from "node:assert/strict";
import {createRequire} from "node:module";
import {describe, it} from "vitest";
import {compilerVersion, isPackageName, TSLAB_VERSION} from "../../lib/kernel/tslab.ts";

const require = createRequire(import.meta.url);

describe("the pinned tslab", () => {
  it("is the version whose insides were checked", () => {
    // With another version check, in its dist/converter.js, before moving TSLAB_VERSION:
    // 1. createConverter still calls ts.createWatchCompilerHost(roots, options, sys, program, …) and ts.transpileModule;
    // 2. it still takes its folder from ts.sys.getCurrentDirectory() and its watchers from ts.sys.watchFile;
    // 3. the prefix of a cell is still one line ("export {};"), which the source maps are shifted by;
    // 4. convert() still answers {output, declOutput, lastExpressionVar, sideOutputs, diagnostics};
    // 5. the compiler still is @tslab/typescript-for-tslab, and its version here: declarations must be readable by it.
    assert.equal(require("tslab/package.json").version, TSLAB_VERSION);
    assert.equal(compilerVersion(), "5.0.4");
  });
});

describe("isPackageName", () => {
  it("tells packages from files and Node's own modules", () => {
    for (const id of ["danfojs-node", "@scope/name", "@scope/name/part", "jstat"])
      assert.ok(isPackageName(id), id);
    for (const id of ["./x", "../x.ts", "/x", "node:fs", "C:\\x"]) assert.ok(!isPackageName(id), id);
  });
});
