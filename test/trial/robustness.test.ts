import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {hodgesLehmannCentre, hodgesLehmannShift} from "../../lib/stats/hodges-lehmann.ts";
import {leastSquares} from "../../lib/stats/least-squares.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {answer} from "../../lib/trial/answer.ts";
import {compare} from "../../lib/trial/compare.ts";
import {robustness} from "../../lib/trial/robustness.ts";
import {assertClose} from "../assert-close.ts";
import {labelsOf, toPlan, toRuns} from "./made-runs.ts";

const OPTIONS = {level: 0.95, seed: 1, worthwhile: 0.1, better: "lower" as const};
const ORDER = "ABBABAABABBA";
const VALUES = [5.612, 5.503, 5.521, 5.634, 5.487, 5.665, 5.608, 5.441, 5.652, 5.519, 5.498, 5.629];

describe("robustness", () => {
  it("gives without each run what the comparison of the others gives", () => {
    for (const order of ["abba", "complete", "pairs"] as const) {
      const runs = toRuns(labelsOf(ORDER), VALUES);
      const plan = toPlan(order);
      const {influence} = compare(runs, {...OPTIONS, plan}).robustness!;
      assert.equal(influence.length, 12);
      for (const {run, estimate} of influence) {
        const others = runs.map(other => (other.run === run ? {...other, value: null} : other));
        assert.equal(estimate, answer(others, {...OPTIONS, plan}).effect.fit!.estimate);
      }
    }
  });

  it("stays with the ranks within the design: pair differences, or values less the drift", () => {
    const paired = compare(toRuns(labelsOf(ORDER), VALUES), {...OPTIONS, plan: toPlan("pairs")});
    const differences = [0, 2, 4, 6, 8, 10].map(i => {
      const change = VALUES[i + 1] - VALUES[i];
      return ORDER[i] === "A" ? change : -change;
    });
    const centre = hodgesLehmannCentre(differences);
    assertClose(paired.robustness!.hodges_lehmann!.estimate, centre.estimate, 1e-12);
    assert.match(paired.robustness!.hodges_lehmann!.method, /pair differences/);
    // A drift of 1 s a run added to every value changes nothing once it is in the model.
    const plan = toPlan("abba");
    const still = compare(toRuns(labelsOf(ORDER), VALUES), {...OPTIONS, plan}).robustness!.hodges_lehmann!;
    const drifting = compare(
      toRuns(
        labelsOf(ORDER),
        VALUES.map((value, i) => value + i),
      ),
      {...OPTIONS, plan},
    ).robustness!.hodges_lehmann!;
    assertClose(drifting.estimate, still.estimate, 1e-10);
    assert.match(still.method, /drift of the model taken out/);
    const plain = compare(toRuns(labelsOf(ORDER), VALUES), {...OPTIONS, plan: toPlan("complete")});
    const arm = (letter: string) => VALUES.filter((_, i) => ORDER[i] === letter);
    assert.equal(plain.robustness!.hodges_lehmann!.estimate, hodgesLehmannShift(arm("A"), arm("B")).estimate);
  });

  it("flags a run by the model fitted without it, and keeps it", () => {
    const values = [...VALUES];
    values[4] += 0.6;
    const labels = labelsOf(ORDER);
    const {robustness: found, arms} = compare(toRuns(labels, values), {...OPTIONS, plan: toPlan("abba")});
    assert.deepEqual(
      found!.outliers.map(({run}) => run),
      [5],
    );
    assert.equal(arms.baseline.n + arms.changed.n, 12);
    // The slow way: a term of its own for run 5, whose t is the externally studentised residual.
    const fit = leastSquares(values, [
      {name: "mean", values: labels.map(() => 1)},
      {name: "drift", values: labels.map((_, i) => i)},
      {name: "arm", values: labels},
      {name: "run 5", values: labels.map((_, i) => Number(i === 4))},
    ]);
    assertClose(found!.outliers[0].t, fit.coefficients[3] / fit.standardErrors![3], {rel: 1e-9});
  });

  it("flags a run on about one in twenty clean days", () => {
    // 2,000 days: binomial standard error 0.5 %; Bonferroni errs on the low side.
    const random = createRandom(8, "outliers");
    const labels = labelsOf(ORDER);
    let flagged = 0;
    const DAYS = 2_000;
    for (let day = 0; day < DAYS; day++) {
      const runs = toRuns(
        labels,
        labels.map(() => random.normal()),
      );
      const options = {...OPTIONS, plan: toPlan("abba")};
      const {effect} = answer(runs, options);
      const byRun = {fit: effect.fit!, model: effect.model};
      if (robustness(runs, {...options, effect, byRun}).outliers.length) flagged++;
    }
    const BOUND = 4 * Math.sqrt((0.05 * 0.95) / DAYS);
    assert.ok(flagged / DAYS <= 0.05 + BOUND && flagged > 0, `${flagged} of ${DAYS}`);
  });

  it("answers again with the excluded runs put back that have a value", () => {
    const runs = toRuns(labelsOf(ORDER), VALUES, i =>
      i === 5 ? {value: null, excludedValue: 3} : i === 6 ? {value: null, excludedValue: null} : {},
    );
    const plan = toPlan("abba");
    const {put_back: back} = compare(runs, {...OPTIONS, plan}).robustness!;
    const whole = compare(
      runs.map(run => (run.run === 6 ? {...run, value: 3} : run)),
      {...OPTIONS, plan},
    );
    assert.deepEqual(back!.runs, [6]);
    assert.equal(back!.estimate, whole.estimate);
    assert.deepEqual(back!.interval, whole.interval);
    assert.equal(back!.state, "not-settled");
    assert.equal(compare(toRuns(labelsOf(ORDER), VALUES), {...OPTIONS, plan}).robustness!.put_back, null);
  });

  it("tells that too few runs were left by what was excluded", () => {
    const runs = toRuns(labelsOf("ABBABAAB"), [5.6, 5.2, 5.21, 5.62, 5.19, 5.58, 5.61, 5.2], i =>
      i === 1 || i === 2 ? {value: null, excludedValue: 5.2} : {},
    );
    const result = compare(runs, {...OPTIONS, plan: toPlan("abba")});
    assert.match(result.tooFew!, /the changed arm has 2 usable runs/);
    assert.deepEqual(result.robustness!.influence, []);
    assert.equal(result.robustness!.put_back!.state, "shown-better");
  });
});
