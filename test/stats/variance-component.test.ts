import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {createRandom} from "../../lib/stats/random.ts";
import {varianceComponent} from "../../lib/stats/variance-component.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";

const {row, datasets} = reference("stats-anova");

describe("varianceComponent", () => {
  it("matches the GUM's example H.5, ten days of five readings", () => {
    // JCGM 100:2008 H.5 (row A2-gum-h5): day means and standard deviations within days. Five readings with that mean and standard deviation are made
    // here; any five give the same components. s_a² is the variance of day means times five, s_b² that within days.
    const {expected} = row("A2-gum-h5");
    const {day_means_uV_above_10V: means, within_day_sd_uV: spreads} = datasets["gum.H5"] as Record<
      string,
      number[]
    >;
    const shape = [-2, -1, 0, 1, 2].map(x => x / Math.sqrt(2.5)); // mean 0, standard deviation 1
    const y = means.flatMap((mean, day) => shape.map(x => mean + x * spreads[day])); // [µV above 10 V]
    const groups = means.flatMap((_, day) => shape.map(() => day));
    const found = varianceComponent(y, [{name: "mean", values: y.map(() => 1)}], groups)!;
    assertClose(found.within, expected.s_b_uV, {rel: 1e-10}, "within");
    assertClose(found.between, expected.between_day_sd_uV, {rel: 1e-10}, "between");
    assert.deepEqual([found.dfBetween, found.dfWithin], [9, 40]);
  });

  it("is unbiased beside a drift and an arm, with groups of one and two", () => {
    // Fittings of the order ABBA BAAB ABBA BAAB. Where the estimate would be negative it is cut at zero, so the spread between is
    // made large enough for that to be rare; the tolerance is four standard errors of the mean of 2,000 estimates.
    const labels = [..."ABBABAABABBABAAB"].map(letter => Number(letter === "B"));
    const groups: number[] = [];
    labels.forEach((label, i) => {
      groups.push(i === 0 ? 1 : label === labels[i - 1] ? groups[i - 1] : groups[i - 1] + 1);
    });
    const terms = [
      {name: "mean", values: labels.map(() => 1)},
      {name: "drift", values: labels.map((_, i) => i)},
      {name: "arm", values: labels},
    ];
    const random = createRandom(5, "variance component");
    const DAYS = 2_000;
    const found = Float64Array.from({length: DAYS}, () => {
      const effects = Array.from({length: 20}, () => 3 * random.normal());
      const y = labels.map((label, i) => 5 + 0.1 * i - label + effects[groups[i]] + random.normal());
      return varianceComponent(y, terms, groups)!.between ** 2;
    });
    const mean = found.reduce((sum, value) => sum + value, 0) / DAYS;
    const sd = Math.sqrt(found.reduce((sum, value) => sum + (value - mean) ** 2, 0) / DAYS);
    assertClose(mean, 9, (4 * sd) / Math.sqrt(DAYS));
  });

  it("gives none where no group has two members, or the terms explain every difference", () => {
    const ones = [{name: "mean", values: [1, 1, 1, 1]}];
    assert.equal(varianceComponent([1, 2, 3, 4], ones, [1, 2, 3, 4]), null);
    assert.equal(varianceComponent([1, 2, 3, 4], ones, [1, 1, 1, 1]), null);
    assert.equal(varianceComponent([1, 2, 1, 2], ones, [1, 1, 2, 2])!.between, 0);
  });
});
