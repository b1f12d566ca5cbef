import assert from "node:assert/strict";
import {mkdtempSync, readFileSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {describe, it} from "vitest";
import {correctionRecord} from "../../lib/judge/correction-record.ts";
import {judge} from "../../lib/judge/judge.ts";
import {judgeSchema} from "../../lib/result/schemas/judge.ts";
import {loadDay} from "../../lib/run/day.ts";
import {readSession} from "../../lib/run/session.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {writeDay} from "../../lib/simulate/write.ts";
import {assertClose} from "../assert-close.ts";

/** The both-ways day with another primary measure, in a folder of its own. */
function sessionWith(change: (text: string) => string) {
  const folder = join(mkdtempSync(join(tmpdir(), "correction-")), "day");
  writeDay(simulateDay(scenarioNamed("both-ways")!, 5), folder);
  const file = join(folder, "session.yaml");
  writeFileSync(file, change(readFileSync(file, "utf8")));
  return readSession(file);
}
const corrected = (text: string) => text.replace("primary: band-time", "primary: corrected-band-time");

describe("judge with a corrected primary measure", () => {
  const session = sessionWith(corrected);
  const day = loadDay(session);
  const result = judge(session, day);
  const {correction} = result;

  it("shows raw and corrected side by side with the size of every correction", () => {
    assert.ok(correction);
    judgeSchema.parse(result);
    const raw = judge({...session, primary: "band-time"}, day);
    assert.deepEqual(correction.raw, {
      estimate: raw.effect.estimate,
      interval: raw.effect.interval,
      state: raw.verdict.state,
    });
    for (const run of correction.runs) {
      assertClose(run.corrected_s, run.raw_s + run.correction_s, 1e-12);
      // the causes add up but for their products, a hundredth of the whole
      assertClose(run.grade_s + run.wind_s + run.air_s + run.mass_s, run.correction_s, 0.005);
    }
    assert.match(correction.reference, /what the engine itself makes of other air or heat is not corrected/);
    // a wind of 2 m/s out and back moves times by some 0.04 s each way; the corrected runs scatter less
    const spread = (key: "raw_s" | "corrected_s") => {
      const values = correction.runs.map(run => run[key]);
      const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
      return values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
    };
    assert.ok(spread("corrected_s") < spread("raw_s"));
  });
  it("tells both answers in words, and warns where the answer rests on the correction", () => {
    const {raw, difference, budget, words} = correction!;
    assert.ok(
      words.raw.startsWith(
        `${raw.estimate! < 0 ? "−" : "+"}${Math.abs(raw.estimate!).toFixed(3)} s (95 % interval `,
      ),
      words.raw,
    );
    assert.ok(words.raw.endsWith(raw.state.replaceAll("-", " ")), words.raw);
    const size = difference.corrected_s - difference.raw_s;
    assert.ok(
      words.size.includes(`${size < 0 ? "−" : "+"}${Math.abs(size).toFixed(3)} s in the difference (grade `),
      words.size,
    );
    assert.ok(words.size.endsWith(`known to ± ${budget.expanded_s.toFixed(3)} s (95 %)`), words.size);
    // the same day, had the correction left less than it took
    const small = {estimate: size / 2, interval: null, state: "not-settled" as const};
    const {warnings, words: other} = correctionRecord(day, {
      raw: {...small, estimate: null},
      corrected: small,
    });
    assert.match(
      warnings.join("; "),
      /is larger than what is left of it .*: the answer rests on the correction/,
    );
    assert.equal(other.raw, "no difference can be told: not settled");
    const changed = correctionRecord(day, {raw: {...small, state: "shown-better"}, corrected: small});
    assert.match(
      changed.warnings.join("; "),
      /without the correction the answer is another one: shown better/,
    );
  });
  it("says where the wind comes from, and how large an error would erase the difference", () => {
    const {wind, sensitivity, budget, interval_with_correction: wide} = correction!;
    assert.equal(wind.basis, "both directions");
    assert.ok(Math.abs(wind.headwind_out_mps - 2) < 3 * wind.u_mps);
    const grade = sensitivity.find(row => row.input === "grade")!;
    // By hand: 0.1 % of 1280 kg is 12.6 N of some 3700 N of drive force over 5.5 s: 0.019 s.
    assertClose(Math.abs(grade.effect_s), 0.019, 0.004);
    assertClose(grade.to_erase!, Math.abs(result.effect.estimate! / grade.effect_s) * 0.001, 1e-9);
    assert.ok(budget.shared_u_s > 0 && budget.shared_u_s < 0.02);
    assert.ok(wide!.low <= result.effect.interval!.low && wide!.high >= result.effect.interval!.high);
  });
  it("names what the car's description lacks", () => {
    const lacking = sessionWith(text => corrected(text).replace(/ {2}mass: .*\n/, ""));
    assert.throws(() => judge(lacking), {
      name: "InputError",
      message:
        /vehicle\.mass is missing, and corrected-band-time cannot be computed without it; write for example vehicle: \{mass: 1390 kg\}/,
    });
  });
  it("takes a stated wind, and warns of a strong one", () => {
    const stated = sessionWith(text =>
      corrected(text).replace("\nruns:", "\nwind: {headwindOut: 6 m/s, uncertainty: 1 m/s}\nruns:"),
    );
    const {wind, warnings} = judge(stated).correction!;
    assert.deepEqual(wind, {headwind_out_mps: 6, u_mps: 1, grade_u_mps: 0, basis: "stated"});
    assert.match(warnings.join(), /the wind along the road is 6\.0 m\/s; usual coastdown procedures/);
  });
  it("lists a run whose time cannot be corrected, and says why where none of an arm can", () => {
    // a tail wind of 120 m/s pushes harder than the engine: in still air such a run would not gain speed
    const wind = (text: string) =>
      corrected(text).replace("\nruns:", "\nwind: {headwindOut: 120 m/s, uncertainty: 1 m/s}\nruns:");
    const {excluded, runs} = judge(sessionWith(wind));
    assert.deepEqual(
      excluded.map(({run}) => run),
      runs.filter(run => !run.used).map(({run}) => run),
    );
    assert.ok(excluded.length > 0 && excluded.length < runs.length);
    for (const {reason} of excluded) assert.match(reason, /^it does not gain speed throughout its pass/);
    const split = sessionWith(text =>
      wind(text).replace(
        /arm: (\w+), direction: (\w+)/g,
        (_all, _arm, way) => `arm: ${way === "back" ? "changed" : "baseline"}, direction: ${way}`,
      ),
    );
    assert.throws(() => judge(split), {
      name: "InputError",
      message:
        /the changed arm has no usable run; run 2 \(line \d+\): it does not gain speed throughout its pass/,
    });
  });
  it("refuses a humidity in per cent and air outside any weather", () => {
    assert.throws(() => sessionWith(text => corrected(text).replace(/humidity: [\d.]+/, "humidity: 55")), {
      message: /55 is no humidity; 55 % is written 0\.55/,
    });
    const thin = sessionWith(text => corrected(text).replace(/pressure: \S+ hPa/, "pressure: 501 hPa"));
    assert.throws(() => judge(thin), {name: "InputError", message: /outside any weather/});
  });
});

describe("judge by band power", () => {
  it("finds the part's share of power", () => {
    const session = sessionWith(text =>
      text.replace("primary: band-time", "primary: band-power").replace(/worthwhile: .*/, "worthwhile: 2 kW"),
    );
    const result = judge(session);
    judgeSchema.parse(result);
    assert.equal(result.unit, "W");
    // the part gives 3 % more power; runs scatter by 0.8 % and more, so the interval of 12 runs is some ±1.5 %
    assertClose(result.effect.percent!, 3, 2.5);
    assert.ok(
      result.effect.interval!.low <= 0.03 * result.arms.baseline.mean! &&
        0.03 * result.arms.baseline.mean! <= result.effect.interval!.high,
    );
    // the demo's car has 97 kW at the most; the band's mean is below it
    assert.ok(result.arms.baseline.mean! > 80_000 && result.arms.baseline.mean! < 97_000);
  });
});
