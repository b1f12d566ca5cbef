import assert from "node:assert/strict";
import {describe, it} from "vitest";
import type {BesideRecord} from "../../lib/result/documents.ts";
import type {OrderName, Plan} from "../../lib/result/session.ts";
import {permutationTest} from "../../lib/stats/permutation.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {answer} from "../../lib/trial/answer.ts";
import {type Comparison, compare} from "../../lib/trial/compare.ts";
import {listDeals} from "../../lib/trial/plan.ts";
import {assertClose} from "../assert-close.ts";
import {labelsOf, toPlan, toRuns} from "./made-runs.ts";

const OPTIONS = {level: 0.95, seed: 1, worthwhile: 0.5};
const VALUES = [5.612, 5.503, 5.521, 5.634, 5.487, 5.665, 5.608, 5.441, 5.552, 5.619];

function named(result: Comparison, name: BesideRecord["name"]): BesideRecord {
  const found = result.beside.find(beside => beside.name === name);
  assert.ok(found, `no interval ${name}`);
  return found;
}

describe("intervals beside the main one", () => {
  it("give a randomisation interval where the plan has 40 re-deals, with the level it reaches", () => {
    const result = compare(toRuns(labelsOf("ABBABAABBA"), VALUES), {...OPTIONS, plan: toPlan("complete")});
    const {interval} = named(result, "randomisation");
    // C(10, 5) = 252 deals; the level reached is a multiple of 2/252 and at least 95 %.
    assert.ok(interval!.level >= 0.95 && interval!.level < 0.95 + 3 / 252, String(interval!.level));
    assert.match(interval!.method, /all 252 re-deals/);
    // Differential: just inside the limits the permutation test does not reject at 1 − level, just outside it does.
    const observed = Int8Array.from(labelsOf("ABBABAABBA"));
    const pAt = (shift: number) =>
      permutationTest(
        VALUES.map((value, i) => value - shift * observed[i]),
        observed,
        listDeals("complete", 10),
      ).p;
    for (const [limit, out] of [
      [interval!.low, -1e-6],
      [interval!.high, 1e-6],
    ]) {
      assert.ok(pAt(limit - out) > 1 - interval!.level + 1e-12, `${pAt(limit - out)} inside ${limit}`);
      assert.ok(pAt(limit + out) <= 1 - interval!.level + 1e-12, `${pAt(limit + out)} outside ${limit}`);
    }
  });

  it("say where the plan does not allow one", () => {
    const abba = compare(toRuns(labelsOf("ABBABAAB"), VALUES), {...OPTIONS, plan: toPlan("abba")});
    assert.deepEqual(
      [named(abba, "randomisation").interval, named(abba, "randomisation").words],
      [null, "not possible with this plan: it has 4 re-deals, 40 are needed"],
    );
    // Seven fittings for eight runs with two blocks: enough; ABBAABBA has five, of which the model leaves two.
    assert.notEqual(named(abba, "fittings").interval, null);
    const five = compare(toRuns(labelsOf("ABBAABBA"), VALUES), {...OPTIONS, plan: toPlan("abba")});
    assert.match(named(five, "fittings").words, /not possible: 5 fittings|2 usable fittings, 3 are needed/);
    const each = compare(toRuns(labelsOf("ABABABAB"), VALUES), {...OPTIONS, plan: toPlan("complete")});
    assert.match(named(each, "fittings").words, /every run is a fitting of its own/);
  });

  it("label percentile and BCa as under-covering, and are narrower than the main one", () => {
    for (const order of ["complete", "abba"] as OrderName[]) {
      const result = compare(toRuns(labelsOf("ABBABAAB"), VALUES), {...OPTIONS, plan: toPlan(order)});
      const width = ({low, high}: {low: number; high: number}) => high - low;
      for (const name of ["percentile", "bca"] as const) {
        assert.match(named(result, name).words, /covers too rarely/);
        assert.ok(width(named(result, name).interval!) < width(result.interval!), `${order} ${name}`);
      }
    }
  });

  it("list the studentised bootstrap in full for 3 against 3", () => {
    const result = compare(toRuns(labelsOf("ABBABA"), VALUES), {...OPTIONS, plan: toPlan("complete")});
    assert.match(result.check!.method, /all 3136 resamples/);
    const again = compare(toRuns(labelsOf("ABBABA"), VALUES), {
      ...OPTIONS,
      seed: 2,
      plan: toPlan("complete"),
    });
    assert.deepEqual(result.check, again.check);
  });

  it("count every split without listing for a complete order, as the listing does", () => {
    const runs = toRuns(labelsOf("ABBABAABBA"), VALUES);
    const {permutation} = compare(runs, {...OPTIONS, plan: toPlan("complete")});
    const slow = permutationTest(VALUES, Int8Array.from(labelsOf("ABBABAABBA")), listDeals("complete", 10));
    assert.deepEqual([permutation!.p, permutation!.floor, permutation!.deals], [slow.p, slow.floor, 252]);
    // 12 + 12 has 2,704,156 splits: beyond listing, exact all the same.
    const order = "AB".repeat(12);
    const long = compare(
      toRuns(labelsOf(order), [...VALUES, ...VALUES.map(v => v + 0.013), ...VALUES.map(v => v - 0.007)]),
      {...OPTIONS, plan: toPlan("complete")},
    );
    assert.equal(long.permutation!.deals, 2_704_156);
    assertClose(long.permutation!.floor, 2 / 2_704_156, 1e-15);
    assert.doesNotMatch(long.permutation!.basis, /drawn by the seed/);
  });
});

describe("fittings", () => {
  it("are the unit of the main interval where the plan says so, with the runs beside", () => {
    const runs = toRuns(labelsOf("ABBABAABBA"), VALUES);
    const plan: Plan = toPlan("complete", null, {unit: "fitting"});
    const result = compare(runs, {...OPTIONS, plan});
    assert.equal(result.interval!.method, "Welch's t on the means of fittings");
    // By hand: fittings A BB A B AA BB A; means of the arm B: (5.503 + 5.521)/2, 5.487, (5.441 + 5.552)/2; of A: 5.612, 5.634, (5.665 + 5.608)/2, 5.619.
    const changed = (5.512 + 5.487 + 5.4965) / 3;
    const baseline = (5.612 + 5.634 + 5.6365 + 5.619) / 4;
    assertClose(result.estimate!, changed - baseline, 1e-12);
    const byRun = compare(runs, {...OPTIONS, plan: toPlan("complete")});
    assert.deepEqual(named(result, "runs").interval, byRun.interval);
    assert.deepEqual(named(byRun, "fittings").interval, result.interval);
    assert.equal(result.arms.baseline.n, 5);
  });

  // The claim of the interval on fitting means, where the one by run is known to fall short: a fitting effect of half the spread of a
  // run and of the whole of it, in orders with two runs a fitting. 3,000 days: binomial standard error 0.4 %.
  it.each([0.5, 1])(
    "cover what they claim with a fitting effect of %f of the spread between runs",
    fittingSd => {
      const DAYS = 3_000;
      const BOUND = 4 * Math.sqrt((0.05 * 0.95) / DAYS);
      const random = createRandom(31, `fittings ${fittingSd}`);
      const labels = labelsOf("AABBAABBAABB");
      let covered = 0;
      let byRun = 0;
      for (let day = 0; day < DAYS; day++) {
        let fitting = 0;
        const values = labels.map((_, i) => {
          if (i % 2 === 0) fitting = fittingSd * random.normal();
          return fitting + random.normal();
        });
        const runs = toRuns(labels, values);
        const of = (unit: "run" | "fitting") =>
          answer(runs, {...OPTIONS, plan: toPlan("complete", null, {unit})}).effect.interval!;
        const holds = ({low, high}: {low: number; high: number}) => low <= 0 && high >= 0;
        if (holds(of("fitting"))) covered++;
        if (holds(of("run"))) byRun++;
      }
      assert.ok(covered / DAYS >= 0.95 - BOUND, `covers ${covered / DAYS}`);
      assert.ok(covered / DAYS <= 0.975 + BOUND, `covers ${covered / DAYS}`); // Welch at 3 + 3 errs on the wide side
      assert.ok(byRun < covered, "the interval by run is the one that falls short");
    },
  );

  it("show their spread where some have two runs, and not where none has", () => {
    const two = compare(toRuns(labelsOf("ABBABAABBA"), VALUES), {...OPTIONS, plan: toPlan("complete")});
    assert.ok(two.fittingSpread!.within > 0 && two.fittingSpread!.dfWithin === 3);
    const each = compare(toRuns(labelsOf("ABABABAB"), VALUES), {...OPTIONS, plan: toPlan("complete")});
    assert.equal(each.fittingSpread, null);
  });
});
