import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {directCurrentShare} from "../../lib/meter/direct-current.ts";
import {gapEnergyChange, sparkEnergy} from "../../lib/meter/spark-discharge.ts";
import {assertClose} from "../assert-close.ts";

describe("directCurrentShare", () => {
  it("follows Ohm's law on the loop", () => {
    // By hand: 12 V and 200 A are 60 mohm; a cable of 6 mohm replaced by one of 3 leaves 57 mohm.
    const share = directCurrentShare({sourceV: 12, currentA: 200}, {baselineOhm: 0.006, changedOhm: 0.003});
    assertClose(share.wholeOhm, 0.06, 1e-15);
    assertClose(share.partShare, 0.1, 1e-12);
    assertClose(share.currentChange, 60 / 57 - 1, 1e-12);
    assertClose(share.powerChange, (60 / 57) ** 2 - 1, 1e-12);
    assert.match(share.limits, /upper bound/);
    assert.throws(
      () => directCurrentShare({sourceV: 12, currentA: 200}, {baselineOhm: 0.07, changedOhm: 0}),
      /at most the whole circuit of 0\.06 ohm/,
    );
    assert.throws(
      () => directCurrentShare({sourceV: 0, currentA: 1}, {baselineOhm: 0, changedOhm: 0}),
      /found 0 V/,
    );
  });
});

describe("sparkEnergy", () => {
  const circuit = {inductanceH: 20, currentA: 0.08, gapV: 900, otherOhm: 9_000};

  it("agrees with stepping the circuit through", () => {
    // Midpoint rule on L di/dt = −R i − V, 200,000 steps: its own error is below 1e-9 of the energy.
    for (const partOhm of [0, 500, 5_000, 50_000]) {
      const found = sparkEnergy(circuit, partOhm);
      const steps = 200_000;
      const step = found.durationS / steps;
      const whole = circuit.otherOhm + partOhm;
      let current = circuit.currentA;
      let gapJ = 0;
      let partJ = 0;
      for (let i = 0; i < steps; i++) {
        const half = current - ((whole * current + circuit.gapV) / circuit.inductanceH) * (step / 2);
        gapJ += circuit.gapV * half * step;
        partJ += partOhm * half * half * step;
        current -= ((whole * half + circuit.gapV) / circuit.inductanceH) * step;
      }
      assertClose(current, 0, 1e-7, "current at the end");
      assertClose(found.gapJ, gapJ, {rel: 1e-7}, "energy in the gap");
      assertClose(found.partJ, partJ, Math.max(1e-7 * found.storedJ, 0), "energy in the part");
    }
  });

  it("loses nothing at small resistance, where its series takes over", () => {
    const free = {...circuit, otherOhm: 0};
    assert.equal(sparkEnergy(free, 0).gapJ, sparkEnergy(free, 0).storedJ);
    const [below, above] = [1.124, 1.126].map(
      ohm => sparkEnergy(free, ohm).gapJ / sparkEnergy(free, 0).storedJ,
    );
    // either side of the change-over the slope is −2/3 of i/V per ohm
    assertClose((above - below) / 0.002, (-2 / 3) * (0.08 / 900), {rel: 1e-3});
    assert.throws(() => sparkEnergy(circuit, -1), /-1 ohm/);
  });

  it("puts a part's ohms beside its share of the energy", () => {
    const change = gapEnergyChange(circuit, {baselineOhm: 5_000, changedOhm: 0});
    assert.ok(change > 0.1 && change < 0.3, `${change}`);
    assert.equal(gapEnergyChange(circuit, {baselineOhm: 5_000, changedOhm: 5_000}), 0);
  });
});
