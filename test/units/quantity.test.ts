import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {parseQuantity, printQuantity} from "../../lib/units/quantity.ts";
import {UNITS} from "../../lib/units/table.ts";
import {fromSI, toSI} from "../../lib/units/unit.ts";

describe("parseQuantity", () => {
  it("reads a number with its unit", () => {
    // By definition: 60 km/h = 60/3.6 m/s = 50/3 m/s; 21 °C = 294.15 K; 5 % = 0.05.
    assert.deepEqual(parseQuantity("60 km/h"), {value: 60, unit: "km/h", dimension: "speed", si: 50 / 3});
    assert.deepEqual(parseQuantity(" 60kph "), {value: 60, unit: "km/h", dimension: "speed", si: 50 / 3});
    assert.equal(parseQuantity("21 °C").si, 294.15);
    assert.equal(parseQuantity("-5 %").si, -0.05);
    assert.equal(parseQuantity("1.5e2 N").si, 150);
    assert.equal(parseQuantity(".15 s").si, 0.15);
  });
  it("reads a bare number only where a ratio is needed", () => {
    assert.equal(parseQuantity("0.55", {dimension: "ratio"}).si, 0.55);
    assert.throws(() => parseQuantity("60", {name: "band.from", dimension: "speed"}), {
      name: "UnitError",
      code: "missing-unit",
      message: 'band.from: "60" has no unit, a speed is needed',
      hint: 'write it like "60 m/s"',
    });
  });
  it("refuses a decimal comma in words", () => {
    assert.throws(() => parseQuantity("60,5 km/h"), {
      code: "decimal-comma",
      message: '"60,5 km/h" has a decimal comma',
      hint: 'write the decimal point, "60.5 km/h"',
    });
    assert.throws(() => parseQuantity("1.060,5 km/h"), {code: "decimal-comma"});
  });
  it("says which dimension was found and which is needed", () => {
    assert.throws(() => parseQuantity("60 kg", {name: "band.from", dimension: "speed"}), {
      code: "wrong-dimension",
      message: "band.from: 60 kg is a mass, a speed is needed",
    });
    assert.throws(() => parseQuantity("2 A", {dimension: "area"}), {
      message: "2 A is a current, an area is needed",
    });
  });
  it("names near units for an unknown one", () => {
    assert.throws(() => parseQuantity("60 kmh/h", {name: "band.to"}), {
      code: "unknown-unit",
      message: 'band.to: the unit "kmh/h" is not known',
      hint: /near are km\/h/,
    });
  });
  it("refuses what is no quantity, without hanging or NaN", () => {
    for (const text of [
      "",
      "km/h",
      "--5 s",
      "NaN s",
      "Infinity s",
      "1e999 s",
      "0x10 m",
      "1 2 s",
      "1.2.3 s",
    ]) {
      assert.throws(() => parseQuantity(text), {name: "UnitError"}, text);
    }
    fc.assert(
      fc.property(fc.string({maxLength: 40}), text => {
        try {
          assert.ok(Number.isFinite(parseQuantity(text).si));
        } catch (error) {
          assert.equal((error as Error).name, "UnitError");
        }
      }),
    );
  });
});

describe("printQuantity", () => {
  it("prints the shortest number that means the same", () => {
    assert.equal(printQuantity(50 / 3, "km/h"), "60 km/h");
    assert.equal(printQuantity(294.15, "degC"), "21 degC");
    assert.equal(printQuantity(0.55, "1"), "0.55");
    assert.equal(printQuantity(-0, "s"), "0 s");
    assert.equal(printQuantity(17.123456, "km/h", {digits: 3}), "61.6 km/h");
  });
  it("is read back to the same value, in every unit", () => {
    const unit = fc.constantFrom(...UNITS.filter(row => row.symbol !== "1"));
    const written = fc.integer({min: -1_000_000, max: 1_000_000}).map(n => n / 100);
    fc.assert(
      fc.property(unit, written, (row, value) => {
        const si = toSI(value, row);
        assert.equal(parseQuantity(printQuantity(si, row.symbol)).si, si);
      }),
      {seed: 1, numRuns: 2000},
    );
  });
  it("is read back within rounding for any value", () => {
    // Two roundings there, two back, each half a unit in the last place: 4 · 2⁻⁵³, relative; an offset adds its own.
    // Below 1e-300 doubles lose digits.
    fc.assert(
      fc.property(fc.constantFrom(...UNITS), fc.double({min: -1e9, max: 1e9, noNaN: true}), (row, si) => {
        const back = parseQuantity(printQuantity(si, row.symbol), {dimension: row.dimension}).si;
        const size = Math.max(Math.abs(si), (row.offset * row.factor) / row.divisor);
        assert.ok(
          Math.abs(back - si) <= 8 * 2 ** -53 * size + 1e-300,
          `${si} ${row.symbol} came back as ${back}`,
        );
      }),
      {seed: 2, numRuns: 2000},
    );
  });
  it("refuses a value that is not finite", () => {
    assert.throws(() => printQuantity(Number.NaN, "s"), {name: "RangeError", message: /finite, found NaN/});
    assert.throws(() => printQuantity(1, "s", {digits: 0}), {message: /digits must be 1 to 17, found 0/});
    assert.equal(fromSI(1, "ms"), 1000);
  });
});
