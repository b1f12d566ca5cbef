import assert from "node:assert/strict";
import {readFileSync} from "node:fs";
import {describe, it} from "vitest";
import {arrowViolations, MAY_IMPORT} from "./import-arrows.ts";
import {ROOT, trackedFiles} from "./tracked-files.ts";

describe("the arrows between the folders of lib/", () => {
  it("are those of the table", () => {
    const files = trackedFiles()
      .filter(file => file.startsWith("lib/") && file.endsWith(".ts"))
      .map(file => ({path: file.slice("lib/".length), text: readFileSync(`${ROOT}/${file}`, "utf8")}));
    assert.ok(files.length > 10, `only ${files.length} files of lib/ were found`);
    assert.deepEqual(arrowViolations(files), []);
  });

  it("form no circle", () => {
    // index.ts and cli/ see everything above them; a folder that can reach itself would be a circle
    const reach = (folder: string, seen = new Set<string>()): Set<string> => {
      for (const next of MAY_IMPORT[folder]) if (!seen.has(next)) reach(next, seen.add(next));
      return seen;
    };
    const circles = Object.keys(MAY_IMPORT).filter(folder => folder !== "cli" && reach(folder).has(folder));
    assert.deepEqual(circles, []);
  });
});

describe("arrowViolations", () => {
  it("finds an arrow that the table does not have, however it is written", () => {
    const found = arrowViolations([
      {path: "stats/mean.ts", text: 'import {parse} from "../units/parse.ts";'},
      {path: "units/a.ts", text: 'import type {X} from "../judge/x.ts";'},
      {path: "trial/b.ts", text: 'export {y} from "../run/y.ts";'},
      {path: "figures/c.ts", text: 'export const z = () => import("../kernel/z.ts");'},
      {path: "draw/d.ts", text: "import {\n  a,\n  b,\n} from\n  '../index.ts';"},
      {path: "log/e.ts", text: 'import {e} from "../../test/e.ts";'},
      {path: "publish/page.ts", text: 'import {judge} from "../judge/judge.ts";'},
    ]);
    assert.deepEqual(found, [
      "stats/mean.ts imports units/parse.ts, but stats may not import units",
      "units/a.ts imports judge/x.ts, but units may not import judge",
      "trial/b.ts imports run/y.ts, but trial may not import run",
      "figures/c.ts imports kernel/z.ts, but figures may not import kernel",
      "draw/d.ts imports index.ts, but draw may not import index.ts",
      "log/e.ts imports ../../test/e.ts, which is outside lib/",
      "publish/page.ts imports judge/judge.ts, but publish may not import judge",
    ]);
  });

  it("finds a folder that the table does not have, and a package in the wrong place", () => {
    const found = arrowViolations([
      {path: "utils/misc.ts", text: ""},
      {path: "trial/t.ts", text: 'import jStat from "jstat";'},
      {path: "run/table.ts", text: 'import {DataFrame} from "danfojs-node";'},
    ]);
    assert.deepEqual(found, [
      "utils/misc.ts: utils is not in the table of folders",
      "trial/t.ts imports jstat, which only stats/distributions.ts may",
      "run/table.ts imports danfojs-node, which only tables/ and kernel/ may",
    ]);
  });

  it("lets through what the table has, and words that only look like an import", () => {
    const found = arrowViolations([
      {
        path: "judge/judge.ts",
        text: 'import {a} from "../trial/a.ts"; import {b} from "./b.ts"; import "node:fs";',
      },
      {path: "publish/verify.ts", text: 'import {judge} from "../judge/judge.ts";'},
      {
        path: "units/u.ts",
        text: '// import {x} from "../judge/x.ts";\nexport const text = `import "../cli/y.ts"`;',
      },
      {path: "stats/distributions.ts", text: 'import jStat from "jstat";'},
    ]);
    assert.deepEqual(found, []);
  });
});
