import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {readNumber} from "../../lib/log/number-bytes.ts";

const out = new Float64Array(1);
const bytesOf = (text: string) => new TextEncoder().encode(text);
/** Value and number of bytes taken, or null. */
function read(text: string, decimal = "."): {value: number; length: number} | null {
  const bytes = bytesOf(text);
  const length = readNumber(bytes, 0, bytes.length, decimal.charCodeAt(0), out, 0);
  return length < 0 ? null : {value: out[0], length};
}

describe("readNumber", () => {
  it("reads what Number reads, to the last bit and the sign of zero", () => {
    const digits = (min: number, max: number) =>
      fc.array(fc.constantFrom(..."0123456789"), {minLength: min, maxLength: max}).map(a => a.join(""));
    const sign = fc.constantFrom("", "", "-", "+");
    const power = fc.oneof(
      fc.constant(""),
      fc.integer({min: -340, max: 340}).map(e => `e${e}`),
      fc.integer({min: -25, max: 25}).map(e => `E${e}`),
    );
    const written = fc
      .tuple(
        sign,
        digits(1, 22),
        fc.oneof(
          fc.constant(""),
          digits(0, 22).map(d => `.${d}`),
        ),
        power,
      )
      .map(parts => parts.join(""));
    const printed = fc.oneof(
      fc.double({noNaN: true, noDefaultInfinity: true}).map(String),
      fc
        .tuple(fc.double({min: -1e6, max: 1e6, noNaN: true}), fc.integer({min: 15, max: 21}))
        .map(([v, d]) => v.toPrecision(d)),
      fc
        .tuple(fc.double({min: -1e6, max: 1e6, noNaN: true}), fc.integer({min: 0, max: 20}))
        .map(([v, d]) => v.toFixed(d)),
    );
    fc.assert(
      fc.property(fc.oneof(written, printed), text => {
        const expected = Number(text);
        const found = read(text);
        if (!Number.isFinite(expected)) assert.equal(found, null, text);
        else
          assert.ok(
            found && Object.is(found.value, expected) && found.length === text.length,
            `${text}: ${found?.value}`,
          );
      }),
      {seed: 6, numRuns: 60_000},
    );
  });
  it("rounds numbers that lie between two doubles", () => {
    // Halves of the last place, and one unit of the 19th digit beside them: 2⁵³ + 1 lies between two doubles.
    for (const text of [
      "9007199254740993",
      "9007199254740992.9",
      "9007199254740993.1",
      "900719925474099.3",
      "0.1000000000000000055",
      "9.007199254740993",
      "5e-324",
      "2.2250738585072011e-308",
      "1.7976931348623157e308",
      "18014398509481985",
    ]) {
      assert.ok(Object.is(read(text)?.value, Number(text)), text);
    }
  });
  it("takes the decimal comma where it is asked to", () => {
    assert.deepEqual(read("12,5;3", ","), {value: 12.5, length: 4});
    assert.deepEqual(read("1,2345678901234567890e1;", ",")?.value, Number("12.345678901234567890"));
    assert.deepEqual(read("12,5"), {value: 12, length: 2});
  });
  it("stops at the end it is given", () => {
    const bytes = bytesOf("1234.5");
    assert.equal(readNumber(bytes, 0, 3, 46, out, 0), 3);
    assert.equal(out[0], 123);
  });
  it("gives −1 where no finite number starts", () => {
    for (const text of [
      "",
      "-",
      "+",
      ".",
      "-.",
      "e5",
      "1e",
      "1e+",
      "abc",
      "1e999",
      "-1e400",
      "--1",
      "NaN",
      "Infinity",
    ]) {
      assert.equal(read(text), null, text);
    }
    assert.deepEqual(read("5."), {value: 5, length: 2});
    assert.deepEqual(read(".5"), {value: 0.5, length: 2});
  });
});
