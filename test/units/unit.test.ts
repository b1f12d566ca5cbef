import assert from "node:assert/strict";
import {readFileSync} from "node:fs";
import {describe, it} from "vitest";
import {SI_SYMBOL, UNITS} from "../../lib/units/table.ts";
import {findUnit, fromSI, parseUnit, toSI} from "../../lib/units/unit.ts";
import {assertClose} from "../assert-close.ts";

// Rows B1-exact and B1-derived: NIST SP 811 (2008), appendix B, and the definitions of inch, pound and standard gravity,
// recomputed in exact rational arithmetic.
const {rows} = JSON.parse(readFileSync(new URL("../reference/units.json", import.meta.url), "utf8"));
const exact: {unit: string; si: string; factor: number}[] = rows[0].cases;
const derived: {q: string; v: number}[] = rows[1].cases;

describe("toSI", () => {
  // names of the reference rows that are no spelling of ours
  const ours: Record<string, string> = {
    "quarter mile": "mile",
    "hp (mechanical, 550 ft lbf/s)": "hp",
    "PS, metric hp (75 kgf m/s)": "PS",
    "hp (electric, convention)": "hp(E)",
    "inHg (conventional, 13595.1 kg/m3)": "inHg",
    "mmHg (conventional)": "mmHg",
    "inH2O (conventional, 1000 kg/m3)": "inH2O",
    "Btu (IT)": "Btu",
  };
  for (const {unit, si, factor} of exact) {
    it(`holds the factor of ${unit} to the last digits`, () => {
      const row = parseUnit(ours[unit] ?? unit);
      const amount = unit === "quarter mile" ? 0.25 : 1;
      assertClose(toSI(amount, row), factor, {rel: 1e-15});
      assert.equal(SI_SYMBOL[row.dimension], si);
    });
  }
  it("agrees with derived ratios and temperatures", () => {
    const value = (q: string) => derived.find(row => row.q === q)!.v;
    const rpm = (2 * Math.PI) / 60;
    assertClose(fromSI(1000, "PS"), value("PS per kW"), {rel: 1e-14});
    assertClose(fromSI(1000, "hp"), value("hp per kW"), {rel: 1e-14});
    assertClose(fromSI(toSI(1, "hp"), "PS"), value("PS per hp"), {rel: 1e-14});
    assertClose(toSI(1, "hp") / (toSI(1, "lbf ft") * rpm), value("hp = lbf ft * rpm / c, c"), {rel: 1e-14});
    assertClose(1000 / rpm, value("kW = N m * rpm / c, c"), {rel: 1e-14});
    assertClose(toSI(1, "hp") / (toSI(1, "lbf") * toSI(1, "mph")), value("hp = lbf * mph / c, c"), {
      rel: 1e-14,
    });
    assertClose(fromSI(toSI(77, "degF"), "degC"), value("77 degF in degC"), {rel: 1e-14});
    assertClose(toSI(60, "degF"), value("60 degF in K"), {rel: 1e-14});
    assertClose(fromSI(toSI(60, "mph"), "km/h"), value("60 mph in km/h"), {rel: 1e-14});
    assertClose(fromSI(toSI(100, "km/h"), "mph"), value("100 km/h in mph"), {rel: 1e-14});
  });
  it("takes whole km/h to the nearest double", () => {
    for (let v = 0; v <= 400; v++) assert.equal(toSI(v, "km/h"), (v * 5) / 18);
  });
});

describe("findUnit", () => {
  it("reads brackets, cases and signs as they are found in logs", () => {
    const same: Record<string, string[]> = {
      "km/h": [
        "km/h",
        "[km/h]",
        "(km/h)",
        "<km/h>",
        "[km/h",
        "km/h)",
        "[km/h)",
        "KM/H",
        "Kph",
        " kmh ",
        "km / h",
      ],
      degC: ["°C", "[°C]", "º C", "℃", "Â°C", "(Ã‚°C)", "degC", "deg C", "C"],
      degF: ["°F", "F"],
      deg: ["°", "[°]", "deg", "Â°"],
      "m/s2": ["m/s²", "m/s^2", "m/s/s", "[m/s2]"],
      "r/min": ["rpm", "1/min", "RPM", "min⁻¹", "min-1"],
      us: ["µs", "μs", "us"],
      mW: ["mW"],
      MW: ["MW"],
      "%": ["%", "[%]", "pct"],
      "N/(m/s)2": ["N/(m/s)2", "[N/(m/s)²]"],
      "N m": ["Nm", "N·m", "N m"],
      ohm: ["Ω", "Ω", "Ohm"],
      "1": ["-", "[-]"],
    };
    for (const [symbol, texts] of Object.entries(same)) {
      for (const text of texts) assert.equal(findUnit(text)?.symbol, symbol, `"${text}"`);
    }
  });
  it("gives null where case alone would have to decide, and for words", () => {
    for (const text of ["mw", "", "[]", "speed", "constructor", "Time"])
      assert.equal(findUnit(text), null, text);
  });
});

describe("the table", () => {
  it("gives every spelling to one unit only", () => {
    const seen = new Map<string, string>();
    for (const row of UNITS) {
      for (const spelling of [row.symbol, ...row.spellings]) {
        assert.equal(seen.get(spelling) ?? row.symbol, row.symbol, `"${spelling}" stands for two units`);
        seen.set(spelling, row.symbol);
        assert.equal(findUnit(spelling), row, `"${spelling}" is not read as ${row.symbol}`);
      }
    }
  });
  it("names a source for every row and holds the SI unit of every dimension", () => {
    for (const row of UNITS) assert.ok(row.source.length > 10, row.symbol);
    for (const symbol of Object.values(SI_SYMBOL)) {
      if (symbol === "C") continue; // coulomb: "C" alone is read as degrees Celsius, as logs mean it
      assert.equal(toSI(1, symbol), 1);
    }
  });
});
