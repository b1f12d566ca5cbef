import assert from "node:assert/strict";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, describe, it} from "vitest";
import {judge} from "../../lib/judge/judge.ts";
import {judgeRepeatability} from "../../lib/judge/repeatability.ts";
import {repeatabilitySchema} from "../../lib/result/schemas/repeatability.ts";
import {readRepeatabilitySession} from "../../lib/run/repeatability-session.ts";
import {readSession} from "../../lib/run/session.ts";
import {standardDeviation} from "../../lib/stats/summary.ts";
import {assertClose} from "../assert-close.ts";
import {runMain} from "../cli/run-main.ts";
import {ROOT} from "../repo/tracked-files.ts";

const DEMO = join(ROOT, "data-demo", "identical-runs");
const FILE = join(DEMO, "session.yaml");
const scratch = mkdtempSync(join(tmpdir(), "fairpull-repeat-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));

describe("a session of identical runs", () => {
  it("gives the spread of its band times, and what a test could show", () => {
    const result = judgeRepeatability(readRepeatabilitySession(FILE));
    repeatabilitySchema.parse(result);
    const times = result.runs.map(run => run.value!);
    const {n, mean, sd, limit} = result.repeatability;
    assert.deepEqual([n, result.runs.length, result.excluded], [10, 10, []]);
    assertClose(sd!, standardDeviation(times)!, 1e-12);
    assertClose(limit!, 2.8 * sd!, 1e-12);
    // the logs against the truth of the same runs: reading a time off a log is good to some 0.03 s
    const truth = JSON.parse(readFileSync(join(DEMO, "truth.json"), "utf8"));
    truth.runs.forEach((run: {band_time_s: number}, i: number) => {
      assertClose(times[i], run.band_time_s, 4 * result.runs[i].value_u!);
    });
    assert.match(result.words, /^Over 10 identical runs the spread of one run is 0\.\d{3} s \(\d\.\d %\)/);
    assert.ok(result.reach.every(({smallest}) => smallest > 0 && smallest < mean / 10));
    assert.ok(!result.checks.some(({name}) => /arm|between/.test(name)));
  });

  it("is what the command line prints, in words and as JSON", async () => {
    const {out, code} = await runMain(DEMO, "judge", "session.yaml", "--json");
    assert.equal(code, 0);
    const document = repeatabilitySchema.parse(JSON.parse(out));
    const words = await runMain(DEMO, "judge", "session.yaml");
    assert.ok(words.out.includes(document.words));
  });

  it("says what it does not have, with the line", () => {
    const text = readFileSync(FILE, "utf8");
    const refused = (from: string | RegExp, to: string, message: RegExp) => {
      const file = join(scratch, "session.yaml");
      writeFileSync(file, text.replace(from, to));
      assert.throws(
        () => readRepeatabilitySession(file),
        (error: Error & {details: {words: string; line: number}}) => {
          assert.match(`${error.details.line}: ${error.details.words}`, message);
          return true;
        },
      );
    };
    refused(
      "car:",
      "arms: {baseline: a, changed: b}\ncar:",
      /^\d+: arms: a session of repeatability has one car/,
    );
    refused("direction: out", "arm: changed, direction: out", /^\d+: arm: runs of one car have none/);
    refused(/car: .*\n/, "car: 3\n", /car: a text is needed/);
    refused("band:", "bnad:", /"bnad" is not a key of a session|band is missing/);
    refused(/runs:[\s\S]*/, "runs: []\n", /no run is listed/);
  });

  it("is not judged as a comparison, nor a comparison as this", () => {
    assert.throws(() => readSession(FILE), /another kind of test than the comparison/);
    const comparison = join(ROOT, "data-demo", "intake-elbow", "session.yaml");
    assert.throws(() => readRepeatabilitySession(comparison), /arms: a session of repeatability has one car/);
    assert.ok(judge(readSession(comparison)));
  });

  it("is refused where no run can be used", () => {
    const session = readRepeatabilitySession(FILE);
    const runs = session.runs.map(run => ({...run, exclude: "wet road"}));
    assert.throws(
      () => judgeRepeatability({...session, runs}),
      /no run can be used; run 1 \(line \d+\): wet road/,
    );
  });
});
