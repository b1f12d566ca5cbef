import assert from "node:assert/strict";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, describe, it} from "vitest";
import {collectSchema} from "../../lib/result/schemas/workshop.ts";
import {rehearseEvening} from "../../lib/simulate/workshop/rehearse.ts";
import {builtMain} from "./built-main.ts";

const scratch = mkdtempSync(join(tmpdir(), "fairpull-rehearsal-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));

describe("a workshop evening, from the command line alone", () => {
  it("makes tables, has one run its notebook and the other judge, and collects both", {
    timeout: 120_000,
  }, async () => {
    const fairpull = (...args: string[]) => builtMain(scratch, ...args);
    assert.equal(
      (await fairpull("simulate", "workshop", "evening", "--tables", "2", "--seed", "77")).code,
      0,
    );
    // table 1 runs its notebook, which hands in by itself; table 2 has only the command
    const ran = await fairpull("run", "evening/table-01/notebook.ipynb");
    assert.equal(ran.code, 0, ran.err);
    const judged = await fairpull("judge", "evening/table-02/session.yaml", "--json");
    writeFileSync(join(scratch, "evening", "table-02", "verdict.json"), judged.out);
    const {out, code} = await fairpull("simulate", "collect", "evening", "--json");
    assert.equal(code, 0);
    const {tables, summary, problems} = collectSchema.parse(JSON.parse(out));
    assert.deepEqual(problems, []);
    assert.equal(summary!.verdicts, 2);
    assert.match(readFileSync(join(scratch, "evening", "class.html"), "utf8"), /2 of 2 tables handed in/);
    // what was collected from files is what the library rehearses in memory
    const rehearsed = rehearseEvening({seed: 77, tables: 2});
    tables.forEach(({truth, verdict}, i) => {
      const {interval, covered} = rehearsed[i].verdict!;
      assert.ok(Math.abs(truth - rehearsed[i].truth) < 1e-9);
      for (const end of ["low", "high"] as const)
        assert.ok(Math.abs(verdict!.interval![end] - interval![end]) < 1e-9);
      assert.equal(verdict!.covered, covered);
    });
  });
});
