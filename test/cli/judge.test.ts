import assert from "node:assert/strict";
import {mkdirSync, mkdtempSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {dirname, join} from "node:path";
import {describe, it} from "vitest";
import type {JudgeDocument} from "../../lib/result/documents.ts";
import {judgeFailureSchema, judgeSchema} from "../../lib/result/schemas/judge.ts";
import {madeDay, madeRuns} from "../judge/made-day.ts";
import {ROOT} from "../repo/tracked-files.ts";
import {runMain} from "./run-main.ts";

const DEMO = join("data-demo", "intake-elbow", "session.yaml");
const TIMES = [5.6, 5.2, 5.21, 5.62, 5.58, 5.22, 5.19, 5.61];

async function judged(...args: string[]): Promise<{document: JudgeDocument; out: string}> {
  const {out, err, code} = await runMain(ROOT, "judge", ...args, "--json");
  assert.deepEqual([err, code], ["", 0]);
  return {document: judgeSchema.parse(JSON.parse(out)), out};
}

/** Exit code, message and document of a judgement that cannot be made. */
async function refused(session: string) {
  const {out, err, code} = await runMain(dirname(session), "judge", session, "--json");
  assert.doesNotMatch(err + out, /NaN|\n\s*at /);
  return {err, code, document: judgeFailureSchema.parse(JSON.parse(out))};
}

describe("fairpull judge", () => {
  it("judges the demo, twice the same bytes", async () => {
    const [one, two] = [await judged(DEMO), await judged(DEMO)];
    assert.equal(one.out, two.out);
    assert.equal(one.document.verdict.state, "shown-better");
    assert.equal(one.document.inputs.length, 13);
    assert.equal(one.document.inputs[0].file, DEMO);
    assert.deepEqual(one.document.seed, 1);
  });

  it("takes another seed, which moves only what is random", async () => {
    const [one, two] = [await judged(DEMO), await judged(DEMO, "--seed", "5")];
    assert.equal(two.document.seed, 5);
    assert.deepEqual(two.document.effect.interval, one.document.effect.interval);
    assert.notDeepEqual(two.document.effect.check, one.document.effect.check);
  });

  it("tells people the verdict, the runs and the checks", async () => {
    const {out, err, code} = await runMain(ROOT, "judge", DEMO);
    assert.deepEqual([err, code], ["", 0]);
    assert.match(out, /Verdict +Shown better: with smooth elbow/);
    assert.match(out, /^ *12 {2}baseline +5\.\d{3}/m);
    assert.match(out, /^full throttle +held +open from 0\.3 s .* by acceleration alone/m);
    assert.match(out, /Seed +1/);
  });

  it("answers with exit code 0 also when there is too little to say", async () => {
    const session = madeDay(madeRuns("ABBA", TIMES), "plan: {order: abba}");
    assert.equal((await judged(session)).document.verdict.state, "too-few-runs");
    const late = madeDay(madeRuns("AAABBB", TIMES));
    assert.equal((await judged(late)).document.verdict.state, "not-a-fair-test");
  });

  it("computes a 1 Hz recorder with its larger uncertainty", async () => {
    const uncertainty = async (stepS: number) => {
      const {document} = await judged(
        madeDay(
          madeRuns("ABBAABBA", TIMES, () => ({stepS})),
          "plan: {order: abba}",
        ),
      );
      return document.runs[0].value_u!;
    };
    assert.ok((await uncertainty(1)) > 2 * (await uncertainty(0.1)));
  });

  it("says how far it came when there is nothing to judge", async () => {
    const excluded = madeDay(madeRuns("ABAB", TIMES, i => (i % 2 ? {keys: "exclude: rain"} : {})));
    const {err, code, document} = await refused(excluded);
    assert.equal(code, 1);
    assert.match(err, /^fairpull: .*the changed arm has no usable run; run 2 \(line 11\): excluded: rain/);
    assert.equal(document.runs.length, 4);
    assert.equal(document.question, "Does the made part do anything?");
    assert.equal(document.error.code, "arm-without-run");
  });

  it.each([
    ["an empty log", "", 1, /run-02\.csv.*run 2.*empty/],
    ["a binary log", "\u0000\u0001PK\u0003\u0004\u0000\u0002\u0000\u0000", 1, /run-02\.csv/],
    ["a log without speed", "time [s],height [m]\n0,1\n1,2\n2,3\n", 1, /run-02\.csv.*speed/],
    [
      "a log without a unit of speed",
      "time [s],speed\n0,50\n1,60\n2,70\n",
      1,
      /run-02\.csv.*no unit for the speed.*columns: \{speed: "speed:km\/h"\} in the session/,
    ],
    ["a time that never increases", "time [s],speed [km/h]\n5,50\n5,60\n5,70\n", 1, /run-02\.csv.*time/],
  ])("refuses %s with file and run", async (_title, text, expected, message) => {
    const session = madeDay(madeRuns("ABAB", TIMES, i => (i === 1 ? {text} : {})));
    const {err, code, document} = await refused(session);
    assert.match(err, message);
    assert.equal(document.error.run, 2);
    assert.equal(code, expected, err);
  });

  it("names line and column of a mistake in the session, with exit code 2", async () => {
    const folder = mkdtempSync(join(tmpdir(), "judge-"));
    mkdirSync(join(folder, "sub"));
    const file = join(folder, "session.yaml");
    writeFileSync(file, "fairpull: 1\ntest: comparison\nquestoin: Why?\n");
    const {err, code, document} = await refused(file);
    assert.equal(code, 2);
    assert.match(err, /line 3, column 1: "questoin" is not a key of a session; did you mean "question"\?/);
    assert.equal(document.question, null);
    assert.equal((await refused(join(folder, "sub"))).code, 2);
    assert.equal((await refused(join(folder, "none.yaml"))).code, 2);
  });
});
