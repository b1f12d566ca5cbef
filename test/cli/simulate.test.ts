import assert from "node:assert/strict";
import {mkdtempSync, readdirSync, readFileSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {Command} from "commander";
import {afterAll, afterEach, describe, it, vi} from "vitest";
import {registerSimulate, simulateScenario} from "../../lib/cli/simulate.ts";
import {simulateSchema} from "../../lib/result/schemas/simulate.ts";

const scratch = mkdtempSync(join(tmpdir(), "fairpull-cli-simulate-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));
afterEach(() => {
  vi.restoreAllMocks();
  process.exitCode = undefined;
});

/** The command as typed: what it prints and its exit code. */
function typed(...args: string[]): {out: string; err: string; code: unknown} {
  const printed = {out: "", err: ""};
  const into = (key: "out" | "err") => (text: unknown) => {
    printed[key] += text;
    return true;
  };
  vi.spyOn(process.stdout, "write").mockImplementation(into("out"));
  vi.spyOn(process.stderr, "write").mockImplementation(into("err"));
  const program = new Command().exitOverride();
  registerSimulate(program);
  program.parse(["simulate", ...args], {from: "user"});
  const code = process.exitCode;
  vi.restoreAllMocks();
  return {...printed, code};
}

describe("fairpull simulate", () => {
  it("writes the committed demo, and says what to do next without telling the truth", () => {
    const folder = join(scratch, "demo");
    const {out, err, code} = typed("intake-elbow", folder);
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

  it("prints one JSON document, with another seed another day", () => {
    const folder = join(scratch, "json");
    const {out, code} = typed("abba2", folder, "--seed", "12", "--json");
    const document = simulateSchema.parse(JSON.parse(out));
    assert.equal(code, 0);
    assert.deepEqual([document.scenario, document.seed, document.folder], ["abba2", 12, folder]);
    assert.deepEqual(document.files.map(({file}) => file).sort(), readdirSync(folder).sort());
    assert.deepEqual([document.order.length, document.truth!.effect], [8, {value: 0, unit: "s"}]);
    const again = simulateScenario({scenario: "abba2", folder, seed: 12, overwriteOwn: true});
    assert.deepEqual(again.document, document);
    const other = simulateScenario({scenario: "abba2", folder, seed: 13, overwriteOwn: true});
    assert.notDeepEqual(other.document.files, document.files);
  });

  it("lists the scenarios", () => {
    const {out} = typed("--list");
    assert.match(out, /^intake-elbow {2}does a smooth intake elbow/);
    assert.match(out, /^abba2-drift {3}two ABBA blocks/m);
    const {scenarios, scenario} = simulateSchema.parse(JSON.parse(typed("--list", "--json").out));
    assert.equal(scenario, null);
    assert.equal(scenarios.length, out.trim().split("\n").length);
  });

  it("says what is wrong with the scenario, the folder or the seed", () => {
    const wrong = (...args: string[]) => {
      const {out, err, code} = typed(...args, "--json");
      assert.equal(code, 2);
      assert.equal(simulateSchema.parse(JSON.parse(out)).truth, null);
      return err;
    };
    assert.match(wrong("intake-elbw", scratch), /no scenario "intake-elbw"; did you mean "intake-elbow"\?/);
    assert.match(wrong("dragstrip", scratch), /no scenario "dragstrip"; there are intake-elbow, null-day,/);
    assert.match(wrong(), /no scenario was named; give one of intake-elbow/);
    assert.match(wrong("abba2"), /no folder was named/);
    assert.match(wrong("abba2", scratch), /is not empty: it holds "demo"/);
    assert.throws(() => typed("abba2", join(scratch, "x"), "--seed", "1.5"), {
      name: "InputError",
      message: /--seed is "1\.5", but a whole number from 0 is needed/,
    });
  });
});
