import assert from "node:assert/strict";
import {mkdtempSync, readdirSync, readFileSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {afterAll, describe, it} from "vitest";
import {simulateScenario} from "../../lib/cli/simulate.ts";
import {simulateSchema} from "../../lib/result/schemas/simulate.ts";
import {runMain} from "./run-main.ts";

const scratch = mkdtempSync(join(tmpdir(), "fairpull-cli-simulate-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));

/** The command as typed: what it prints and its exit code. */
const typed = (...args: string[]) => runMain(scratch, "simulate", ...args);

describe("fairpull simulate", () => {
  it("writes the committed demo, and says what to do next without telling the truth", async () => {
    const folder = join(scratch, "demo");
    const {out, err, code} = await typed("intake-elbow", folder);
    assert.deepEqual([err, code], ["", 0]);
    assert.equal(
      out,
      `${folder}: 12 runs of "intake-elbow", seed 4711; next: fairpull judge ${join(folder, "session.yaml")}\n`,
    );
    const committed = fileURLToPath(new URL("../../data-demo/intake-elbow/", import.meta.url));
    assert.deepEqual(readdirSync(folder), readdirSync(committed));
    for (const name of readdirSync(folder))
      assert.deepEqual(readFileSync(join(folder, name)), readFileSync(join(committed, name)), name);
  });

  it("prints one JSON document, with another seed another day", async () => {
    const folder = join(scratch, "json");
    const {out, code} = await typed("abba2", folder, "--seed", "12", "--json");
    const document = simulateSchema.parse(JSON.parse(out));
    assert.equal(code, 0);
    assert.deepEqual([document.scenario, document.seed, document.folder], ["abba2", 12, folder]);
    assert.deepEqual(document.files.map(({file}) => file).sort(), readdirSync(folder).sort());
    assert.deepEqual([document.order.length, document.truth!.effect], [8, {value: 0, unit: "s"}]);
    const again = simulateScenario({scenario: "abba2", folder, seed: 12, overwriteOwn: true}, scratch);
    assert.deepEqual(again.document.files, document.files);
    const other = simulateScenario({scenario: "abba2", folder, seed: 13, overwriteOwn: true}, scratch);
    assert.notDeepEqual(other.document.files, document.files);
  });

  it("lists the scenarios", async () => {
    const {out} = await typed("--list");
    assert.match(out, /^intake-elbow +does a smooth intake elbow/);
    assert.match(out, /^abba2-drift +two ABBA blocks/m);
    const {scenarios, scenario} = simulateSchema.parse(JSON.parse((await typed("--list", "--json")).out));
    assert.equal(scenario, null);
    assert.equal(scenarios.length, out.trim().split("\n").length);
  });

  it("says what is wrong with the scenario, the folder or the seed", async () => {
    const wrong = async (...args: string[]) => {
      const {out, err, code} = await typed(...args, "--json");
      assert.equal(code, 2);
      assert.equal(simulateSchema.parse(JSON.parse(out)).truth, null);
      return err;
    };
    assert.match(
      await wrong("intake-elbw", scratch),
      /no scenario "intake-elbw"; did you mean "intake-elbow"\?/,
    );
    assert.match(
      await wrong("dragstrip", scratch),
      /no scenario "dragstrip"; there are intake-elbow, identical-runs,/,
    );
    assert.match(await wrong(), /no scenario was named; give one of intake-elbow/);
    assert.match(await wrong("abba2"), /no folder was named/);
    assert.match(await wrong("abba2", scratch), /is not empty: it holds "demo"/);
    const {err, code} = await typed("abba2", join(scratch, "x"), "--seed", "1.5");
    assert.equal(code, 2);
    assert.match(err, /--seed is "1\.5", but a whole number from 0 is needed/);
  });
});
