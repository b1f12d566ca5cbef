import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {rectangular, withBudget} from "../../lib/meter/budget.ts";
import {differenceOfParts} from "../../lib/meter/difference.ts";
import {resistanceFromCurrent} from "../../lib/meter/four-wire.ts";
import {
  expectedResistanceOhm,
  MATERIALS,
  resistanceAt20C,
  wireGaugeAreaM2,
} from "../../lib/meter/material.ts";
import type {MeterRange, Readings} from "../../lib/meter/reading.ts";
import {halfWidth, twoWireResistance} from "../../lib/meter/resistance.ts";
import {studentTQuantile} from "../../lib/stats/distributions.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";

const {row} = reference("meter");

/** A meter without limits of accuracy and with a display too fine to matter. */
const FINE: MeterRange = {name: "fine", gainFraction: 0, digits: 0, resolutionOhm: 1e-9};
const CHEAP: MeterRange = {name: "200 ohm", gainFraction: 0.008, digits: 3, resolutionOhm: 0.1};

const read = (name: string, ohm: number[], range = CHEAP): Readings => ({name, ohm, range});
const bench = (part: number[], before: number[], after: number[], range = CHEAP) =>
  twoWireResistance({
    part: read("part", part, range),
    leadsBefore: read("leads before", before, range),
    leadsAfter: read("leads after", after, range),
  });

describe("withBudget", () => {
  it("meets the end-gauge example of the GUM", () => {
    // JCGM 100:2008 H.1 (from memory): u 32 nm, 16 degrees of freedom, U99 93 nm with its roundings
    const {inputs, expected} = row("A14-gum-h1");
    const lines = inputs.u_nm.map((contribution: number, i: number) => ({
      source: String(i),
      words: "",
      contribution,
      df: inputs.df[i],
    }));
    const found = withBudget(0, lines, {level: 0.99});
    assertClose(found.standardUncertainty, expected.u_c_nm, {rel: 1e-9});
    assertClose(found.df, expected.df_eff, {rel: 1e-9});
    // the example truncates the degrees of freedom to 16; Student's quantile by jStat is good to 1e-7
    const truncated = studentTQuantile(0.995, Math.floor(found.df)) * found.standardUncertainty;
    assertClose(truncated, expected.U99_nm, {rel: 1e-7});
  });

  it("adds lines of one source before squaring", () => {
    const line = (source: string, contribution: number) => ({source, words: "", contribution, df: 5});
    assert.equal(withBudget(1, [line("gain", 3), line("gain", -3)]).interval, null);
    assert.equal(withBudget(1, [line("gain", 1), line("gain", 2), line("other", 4)]).standardUncertainty, 5);
    assert.throws(() => withBudget(1, [line("gain", Number.NaN)]), /contribution of gain is NaN/);
  });
});

describe("twoWireResistance", () => {
  it("meets B11-lead-short where only the spread counts", () => {
    const {inputs, expected} = row("B11-lead-short");
    const found = bench(inputs.measured_ohm, inputs.shorted_ohm, inputs.shorted_ohm, FINE);
    assertClose(found.value, expected.R, 1e-10);
    // the row reads the leads once; read twice with the same spread each half counts √½
    assertClose(found.standardUncertainty, Math.hypot(expected.u / Math.SQRT2, expected.u / 2), 1e-9);
    assert.deepEqual(found.doubts, []);
  });

  it("lets the gain of a range work on the difference and its offset cancel", () => {
    const found = bench([1.5, 1.7, 1.6], [0.6, 0.6], [0.6, 0.6]);
    const line = (source: string) => found.budget.find(entry => entry.source === source)!.contribution;
    assertClose(found.value, 1, 1e-12);
    assertClose(line("gain: 200 ohm"), rectangular(0.008), 1e-12);
    assertClose(line("offset: 200 ohm"), 0, 1e-12);
    assertClose(line("rounding: part"), 0.1 / Math.sqrt(12), 1e-12);
    // leads read in another range keep their own gain and offset
    const other = {...CHEAP, name: "2 kilohm", resolutionOhm: 0.1};
    const mixed = twoWireResistance({
      part: read("part", [1.5, 1.7, 1.6]),
      leadsBefore: read("leads before", [0.6], other),
      leadsAfter: read("leads after", [0.6], other),
    });
    const offset = mixed.budget.find(entry => entry.source === "offset: 2 kilohm")!;
    assertClose(Math.abs(offset.contribution), rectangular(0.3), 1e-12);
  });

  it("never takes identical repeats for exact", () => {
    const found = bench([0.9, 0.9, 0.9, 0.9], [0.6], [0.6]);
    assert.ok(found.standardUncertainty >= 0.1 / Math.sqrt(6));
    assert.ok(found.interval!.low < 0.3 && found.interval!.high > 0.3);
  });

  it("says what is weak about the readings", () => {
    assert.match(bench([0.2, 0.2], [0.7], [0.7]).doubts[0], /0\.5 ohm less than the leads alone.*clean them/);
    assert.match(
      bench([0.7, 0.7], [0.7], [0.7]).doubts.join("; "),
      /cannot tell less than .* from zero.*below one step of the display/,
    );
    assert.match(
      bench([1, 1.1], [0.2], [0.9]).doubts.join("; "),
      /drifted by 0\.7 ohm .* more than the part itself/,
    );
    assert.throws(() => bench([1], [0.6], [0.6]), {
      name: "RangeError",
      message: /"part" has one reading; take at least 2/,
    });
    assert.throws(
      () => bench([1, -2], [0.6], [0.6]),
      /reading 2 of "part" must be a number ≥ 0 ohm, found -2/,
    );
    assert.throws(() => bench([1, 2], [], [0.6]), /"leads before" has no reading/);
    assert.throws(() => bench([1, 2], [1], [1], {...CHEAP, gainFraction: 8}), /0\.8 % is 0\.008/);
  });

  it("states the reading that cannot be told from zero", () => {
    const found = bench([0.6, 0.6], [0.6], [0.6]);
    // two roundings of ±0.05 ohm as independent rectangles, normal quantile 1.96
    assertClose(found.zeroOhm, (1.959964 * 0.1) / Math.sqrt(6), 1e-5);
  });
});

describe("differenceOfParts", () => {
  it("takes gain and leads that both parts share as one error", () => {
    const leads = {
      leadsBefore: read("leads before", [0.6, 0.7]),
      leadsAfter: read("leads after", [0.6, 0.7]),
    };
    const a = twoWireResistance({part: read("part A", [100.5, 100.7]), ...leads});
    const b = twoWireResistance({part: read("part B", [110.5, 110.7]), ...leads});
    const found = differenceOfParts(a, b);
    assertClose(found.value, 10, 1e-9);
    const gain = found.budget.find(line => line.source === "gain: 200 ohm")!;
    assertClose(gain.contribution, rectangular(0.008) * 10, 1e-9); // not of 100 ohm twice
    const leadLines = found.budget.filter(line => /lead/.test(line.source));
    assert.ok(leadLines.every(line => Math.abs(line.contribution) < 1e-12));
    assert.ok(halfWidth(found) < halfWidth(a));
  });
});

describe("resistanceFromCurrent", () => {
  it("meets B11-lead in both forms", () => {
    const {inputs, expected} = row("B11-lead");
    const currentA = {value: inputs.I, standardUncertainty: inputs.u_I};
    const two = resistanceFromCurrent({
      voltageV: {value: inputs.V, standardUncertainty: inputs.u_V},
      currentA,
      leadsOhm: {value: inputs.R_leads, standardUncertainty: inputs.u_R_leads},
    });
    assertClose(two.value, expected.R_compensated, {rel: 1e-12});
    assertClose(two.standardUncertainty, expected.u_compensated, {rel: 1e-12});
    const four = resistanceFromCurrent({
      voltageV: {value: expected["four_wire_R_0.3_same_instruments"].V, standardUncertainty: inputs.u_V},
      currentA,
    });
    assertClose(four.standardUncertainty, expected["four_wire_R_0.3_same_instruments"].u, {rel: 1e-12});
    assert.throws(
      () => resistanceFromCurrent({voltageV: currentA, currentA: {value: 0, standardUncertainty: 0}}),
      /current must be above 0 A/,
    );
  });
});

describe("materials", () => {
  it("meet B11-copper, B11-awg and B11-temp-correct", () => {
    const copper = MATERIALS["annealed copper"];
    const values = row("B11-copper") as unknown as {cases: {R_ohm: number; ratio: number}[]};
    const wire = {lengthM: 2, areaM2: 0.75e-6};
    assertClose(expectedResistanceOhm(copper, wire), values.cases[0].R_ohm, {rel: 1e-12});
    assertClose(expectedResistanceOhm(copper, {...wire, temperatureK: 333.15}), values.cases[1].R_ohm, {
      rel: 1e-12,
    });
    assertClose(expectedResistanceOhm(copper, {lengthM: 10, areaM2: 1.5e-6}), values.cases[2].R_ohm, {
      rel: 1e-12,
    });
    const gauges = row("B11-awg") as unknown as {
      cases: {awg: number; area_mm2: number; ohm_per_m_20C: number}[];
    };
    for (const {awg, area_mm2, ohm_per_m_20C} of gauges.cases) {
      assertClose(wireGaugeAreaM2(awg) * 1e6, area_mm2, {rel: 1e-10});
      assertClose(expectedResistanceOhm(copper, {lengthM: 1, areaM2: wireGaugeAreaM2(awg)}), ohm_per_m_20C, {
        rel: 1e-10,
      });
    }
    const {inputs, expected} = row("B11-temp-correct");
    assertClose(
      resistanceAt20C(inputs.R_t, {temperatureK: 273.15 + inputs.t_C, perKelvin: inputs.alpha20}),
      expected.R_20,
      {rel: 1e-12},
    );
  });

  it("hold the handbook figures of B11-materials within 5 %", () => {
    // from memory, not verified; ranges by their middle
    const {cases} = row("B11-materials") as unknown as {
      cases: {material: string; nano_ohm_m: number | string}[];
    };
    const named: Record<string, string> = {
      aluminium: "aluminium",
      iron: "iron",
      "low-carbon steel": "low-carbon steel",
      "stainless steel 304": "stainless steel 304",
      "stainless steel 316": "stainless steel 316",
      "brass (70/30)": "brass 70/30",
    };
    for (const {material, nano_ohm_m} of cases) {
      const name = named[material.replace(/ \(CRC.*/, "")];
      if (!name) continue;
      const figures = String(nano_ohm_m)
        .match(/[\d.]+/g)!
        .map(Number);
      const middle = figures.reduce((sum, value) => sum + value, 0) / figures.length;
      assertClose(MATERIALS[name].resistivityOhmM * 1e9, middle, {rel: 0.05}, name);
    }
  });

  it("refuse a temperature without a coefficient and a wire without length", () => {
    assert.throws(
      () => expectedResistanceOhm(MATERIALS.iron, {lengthM: 1, areaM2: 1e-6, temperatureK: 320}),
      /no temperature coefficient/,
    );
    assert.throws(
      () => expectedResistanceOhm(MATERIALS.iron, {lengthM: 0, areaM2: 1e-6}),
      /above 0, found 0 m/,
    );
    assert.throws(() => resistanceAt20C(1, {temperatureK: 0, perKelvin: 0.004}), /leaves nothing/);
  });
});
