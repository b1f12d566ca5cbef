import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {studentTQuantile} from "../../lib/stats/distributions.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {
  crossingProbabilities,
  obrienFlemingConstant,
  pocockConstant,
  spendingBoundaries,
} from "../../lib/stats/sequential.ts";
import {welchDifference} from "../../lib/stats/two-sample.ts";
import {assertClose} from "../assert-close.ts";
import {assertShare, assertShareWithin, reference} from "./reference.ts";

const {row} = reference("sequential");

function equalTimes(looks: number): number[] {
  return Array.from({length: looks}, (_, k) => (k + 1) / looks);
}

describe("boundaries of group sequential tests", () => {
  for (const [id, compute] of [
    ["A13-obf", obrienFlemingConstant],
    ["A13-pocock", pocockConstant],
  ] as const) {
    it(`meet ${id}`, () => {
      const {cases, tolerance} = row<Record<string, number>>(id);
      for (const {K, C_alpha_05, C_alpha_01, C_alpha_10} of cases) {
        assertClose(compute(K), C_alpha_05, tolerance.abs, `K = ${K}`);
        assertClose(compute(K, {alpha: 0.01}), C_alpha_01, tolerance.abs, `K = ${K}`);
        assertClose(compute(K, {alpha: 0.1}), C_alpha_10, tolerance.abs, `K = ${K}`);
      }
    });
  }

  it("meet A13-landemets for both ways of spending, unequal looks included", () => {
    const {cases, tolerance} = row<{K?: number; times?: number[]; obf: number[]; pocock: number[]}>(
      "A13-landemets",
    );
    for (const {K, times, obf, pocock} of cases) {
      const at = times ?? equalTimes(K!);
      spendingBoundaries(at).forEach(({z}, k) => {
        assertClose(z!, obf[k], tolerance.abs, `O'Brien–Fleming ${at} look ${k + 1}`);
      });
      spendingBoundaries(at, {spending: "pocock"}).forEach(({z}, k) => {
        assertClose(z!, pocock[k], tolerance.abs, `Pocock ${at} look ${k + 1}`);
      });
    }
  });

  it("spend what they say, computed back from the boundaries", () => {
    const looks = spendingBoundaries([0.2, 0.35, 0.8, 1]);
    const crossed = crossingProbabilities(
      looks.map(look => look.informationTime),
      looks.map(look => look.z!),
    );
    looks.forEach(({spent}, k) => {
      assertClose(crossed[k], spent, 1e-12);
    });
    assertClose(looks[3].spent, 0.05, 1e-12);
  });

  it("are one test for one look, and none where nothing may be spent", () => {
    // z(0.975) = 1.959963984540054
    assertClose(spendingBoundaries([1])[0].z!, 1.959963984540054, 1e-9);
    assertClose(pocockConstant(1), 1.959963984540054, 1e-8);
    const [first, last] = spendingBoundaries([0.001, 1]);
    assert.deepEqual([first.z, first.nominalP], [null, 0]);
    assertClose(last.z!, 1.959963984540054, 1e-9);
  });

  it("refuse looks out of order", () => {
    assert.throws(() => spendingBoundaries([0.5, 0.4]), {name: "RangeError", message: /look 2 is at 0\.4/});
    assert.throws(() => spendingBoundaries([0.5, 1.1]), {message: /look 2 is at 1\.1/});
    assert.throws(() => spendingBoundaries([]), {message: /at least one look/});
    assert.throws(() => crossingProbabilities([1], [1, 2]), {message: /at each look/});
  });

  it("give 5 % false alarms to a sum of normal steps", () => {
    const random = createRandom(1, "false alarms looks");
    const looks = spendingBoundaries([0.3, 0.6, 1], {spending: "pocock"});
    const n = 20_000;
    let alarms = 0;
    for (let day = 0; day < n; day++) {
      let sum = 0;
      let time = 0;
      const crossed = looks.some(({informationTime, z}) => {
        sum += Math.sqrt(informationTime - time) * random.normal();
        time = informationTime;
        return Math.abs(sum) >= z! * Math.sqrt(time);
      });
      if (crossed) alarms++;
    }
    assertShare(alarms, n, 0.05);
  });

  it("keep near 5 % as t quantiles at the nominal p with four to twelve runs an arm, and fail as z", () => {
    const random = createRandom(1, "false alarms looks t");
    const looks = spendingBoundaries(equalTimes(3), {spending: "pocock"});
    const n = 3000;
    let asT = 0;
    let asZ = 0;
    for (let day = 0; day < n; day++) {
      const a = Array.from({length: 12}, () => random.normal());
      const b = Array.from({length: 12}, () => random.normal());
      let t = false;
      let z = false;
      looks.forEach((look, k) => {
        const found = welchDifference(a.slice(0, 4 * k + 4), b.slice(0, 4 * k + 4));
        const size = Math.abs(found.estimate / found.standardError!);
        if (size >= studentTQuantile(1 - look.nominalP / 2, found.df!)) t = true;
        if (size >= look.z!) z = true;
      });
      if (t) asT++;
      if (z) asZ++;
    }
    assertShareWithin(asT, n, 0.04, 0.055);
    assert.ok(asZ / n > 0.08, `${asZ / n}`);
  });
});
