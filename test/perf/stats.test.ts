import assert from "node:assert/strict";
import {spawnSync} from "node:child_process";
import {fileURLToPath} from "node:url";
import {describe, it} from "vitest";
import {bootstrapDifference, MEAN} from "../../lib/stats/bootstrap.ts";
import {splits} from "../../lib/stats/deals.ts";
import {normalCdf} from "../../lib/stats/distributions.ts";
import {leastSquares} from "../../lib/stats/least-squares.ts";
import {permutationTest} from "../../lib/stats/permutation.ts";
import {quantile} from "../../lib/stats/quantile.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {splitTest} from "../../lib/stats/split-test.ts";
import {mean, standardDeviation} from "../../lib/stats/summary.ts";
import {answer} from "../../lib/trial/answer.ts";
import {drawDeal} from "../../lib/trial/plan.ts";
import {redealTest} from "../../lib/trial/redeal-test.ts";
import {redeals} from "../../lib/trial/redeals.ts";
import {assertClose} from "../assert-close.ts";
import {toPlan, toRuns} from "../trial/made-runs.ts";

const nResamples = 20_000;
const random = createRandom(1, "bench");

function sample(n: number, centre: number): number[] {
  return Array.from({length: n}, () => centre + random.normal());
}

const [a8, b8, a10, b10, a20, b20] = [
  sample(8, 10),
  sample(8, 10.5),
  sample(10, 10),
  sample(10, 10.4),
  sample(20, 10),
  sample(20, 10.5),
];

interface Timing {
  best: number;
  median: number;
}

/** Milliseconds of one call, over many of them after some to warm up. */
function timed(work: () => unknown, runs = 100): Timing {
  for (let i = 0; i < 30; i++) work();
  const times = Array.from({length: runs}, () => {
    const start = performance.now();
    work();
    return performance.now() - start;
  }).sort((a, b) => a - b);
  return {best: times[0], median: times[runs >> 1]};
}

function words({best, median}: Timing): string {
  return `best ${best.toFixed(3)} ms, median ${median.toFixed(3)} ms`;
}

const studentised = () => bootstrapDifference(a8, b8, {statistic: MEAN, random, nResamples});
const bca = () => bootstrapDifference(a20, b20, {statistic: MEAN, method: "bca", random, nResamples});

type NumPy = Record<"usual" | "tuned", Record<"studentised" | "bca", Timing & {limits: [number, number]}>> & {
  numpy: string;
};

/** What NumPy takes for the same, or null where python3 has no SciPy. */
function numpy(): NumPy | null {
  const script = fileURLToPath(new URL("bootstrap.py", import.meta.url));
  const input = JSON.stringify({nResamples, a8, b8, a20, b20});
  const {status, stdout} = spawnSync("python3", [script], {input, encoding: "utf8"});
  return status === 0 ? (JSON.parse(stdout) as NumPy) : null;
}

describe("bootstrap", () => {
  it("takes at most half of what NumPy takes as it is usually written, and less than the fastest way we found", () => {
    const rival = numpy();
    for (const [name, work, most, method] of [
      ["studentised, 20,000 of 8 + 8", studentised, 3, "studentised"],
      ["BCa, 20,000 of 20 + 20", bca, 5, "bca"],
    ] as const) {
      const found = work();
      assert.equal(found.complete, false);
      const own = timed(work);
      console.log(`${name}: ${words(own)}`);
      assert.ok(own.best <= most, `${name}: ${own.best} ms, allowed ${most}`);
      if (rival === null) {
        console.log("  NumPy: skipped, python3 has no SciPy here");
        continue;
      }
      for (const way of ["usual", "tuned"] as const) {
        const theirs = rival[way][method];
        console.log(
          `  NumPy ${rival.numpy}, ${way}: ${words(theirs)}; ${(theirs.best / own.best).toFixed(2)} times as long`,
        );
        const width = found.interval!.high - found.interval!.low;
        // two sets of draws: each limit moves by about 1 % of the width
        assertClose(found.interval!.low, theirs.limits[0], 0.06 * width);
        assertClose(found.interval!.high, theirs.limits[1], 0.06 * width);
      }
      const {best} = rival.usual[method];
      assert.ok(own.best <= best / 2, `${name}: ${own.best} ms, NumPy ${best} ms`);
      const tuned = rival.tuned[method].best;
      assert.ok(own.best < tuned, `${name}: ${own.best} ms, tuned NumPy ${tuned} ms`);
    }
  });
});

describe("exact permutation test", () => {
  it("counts the 12,870 splits of 8 + 8 in 1.5 ms and the 184,756 of 10 + 10 in 20 ms", () => {
    for (const [a, b, deals, most] of [
      [a8, b8, 12_870, 1.5],
      [a10, b10, 184_756, 20],
    ] as const) {
      assert.equal(splitTest(a, b).deals, deals);
      const labels = [...a.map(() => 0), ...b.map(() => 1)];
      const runs = toRuns(labels, [...a, ...b]);
      const plan = toPlan("complete");
      const {effect} = answer(runs, {plan, level: 0.95, worthwhile: 1});
      const fitted = {fit: effect.fit!, model: effect.model};
      // The way that `compare` goes, from runs to p.
      const own = timed(() => {
        const dealt = redeals(runs, plan, random);
        assert.ok(dealt.deals);
        return redealTest(runs, fitted, dealt);
      });
      const general = timed(
        () => permutationTest([...a, ...b], labels, splits(a.length + b.length, b.length)),
        10,
      );
      console.log(
        `exact permutation of ${a.length} + ${b.length}: ${words(own)}; deal by deal ${words(general)}`,
      );
      assert.ok(own.median <= most, `${own.median} ms, allowed ${most}`);
    }
  });
});

interface SimpleStatistics {
  mean(values: number[]): number;
  sampleStandardDeviation(values: number[]): number;
  quantile(values: number[], p: number): number;
  linearRegression(points: [number, number][]): {m: number; b: number};
  cumulativeStdNormalProbability(z: number): number;
  permutationTest(a: number[], b: number[], alternative: string, k: number): number;
}

describe("answer", () => {
  it("takes at most 2 ms for 8 runs, so that 10,000 days are judged in 20 s", () => {
    for (const order of ["complete", "pairs", "abba"] as const) {
      const runs = toRuns(drawDeal(order, 8, random), sample(8, 10));
      const own = timed(() => answer(runs, {plan: toPlan(order, 8), level: 0.95, worthwhile: 1}));
      console.log(`answer for 8 runs, ${order}: ${words(own)}`);
      assert.ok(own.median <= 2, `${own.median} ms, allowed 2`);
    }
  });
});

describe("beside simple-statistics", () => {
  it("tests splits faster than it shuffles; the other functions are printed side by side", async () => {
    const name = "simple-statistics"; // not a package of the project: see test/perf/package.json
    const theirs: SimpleStatistics = await import(name);
    const values = sample(10_000, 10);
    const points = values.map((y, i): [number, number] => [i, y]);
    const terms = [
      {name: "intercept", values: new Array<number>(values.length).fill(1)},
      {name: "slope", values: points.map(([x]) => x)},
    ];
    const pairs: [string, () => unknown, () => unknown][] = [
      ["mean of 10,000", () => mean(values), () => theirs.mean(values)],
      [
        "standard deviation of 10,000",
        () => standardDeviation(values),
        () => theirs.sampleStandardDeviation(values),
      ],
      ["quantile of 10,000", () => quantile(values, 0.9), () => theirs.quantile(values, 0.9)],
      ["line through 10,000", () => leastSquares(values, terms), () => theirs.linearRegression(points)],
      ["normal probability", () => normalCdf(1.3), () => theirs.cumulativeStdNormalProbability(1.3)],
    ];
    for (const [what, own, other] of pairs) {
      console.log(`${what}: ${words(timed(own))}; simple-statistics ${words(timed(other))}`);
    }
    // theirs shuffles 10,000 times where ours counts all 12,870
    const own = timed(() => splitTest(a8, b8));
    const shuffled = timed(() => theirs.permutationTest(a8, b8, "two_side", 10_000), 10);
    console.log(`permutation of 8 + 8: ${words(own)}; simple-statistics ${words(shuffled)}`);
    assert.ok(own.median < shuffled.median);
    assertClose(theirs.mean(values), mean(values), 1e-10);
  });
});
