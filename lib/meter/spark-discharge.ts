/** A coil that empties itself through a series resistance into a gap of constant voltage. */
export interface SparkCircuit {
  /** secondary inductance [H] */
  inductanceH: number;
  /** secondary current when the gap has broken down [A] */
  currentA: number;
  /** voltage across the burning gap [V] */
  gapV: number;
  /** resistance in series without the part: winding, plug, other leads [ohm] */
  otherOhm: number;
}

/** Where the stored energy goes. */
export interface SparkEnergy {
  /** ½·L·i² [J] */
  storedJ: number;
  /** into the gap [J] */
  gapJ: number;
  /** into the part [J] */
  partJ: number;
  /** how long the gap burns [s] */
  durationS: number;
}

/** Below this R·i/V the closed form loses digits and its series takes over; three terms are good to 1e-12 there. */
const SMALL = 1e-4;

/** To stand on every page that speaks of ignition. */
export const SPARK_CAUTION =
  "Ignition high tension can kill and stays after the engine stops: read a part only out of the car or with the system isolated, " +
  "never touch or probe it under voltage, and leave work on the system to licensed practice where local law asks for it.";

/** What the model of the discharge leaves out. */
export const SPARK_LIMITS =
  "the gap burns at a constant voltage, the coil's core does not saturate, and nothing leaks away; the first nanoseconds, when stray capacitance empties, are left out: " +
  "their energy is at most ½·C·V² and hardly reaches a part that sits away from the gap";

/**
 * Share of a coil's energy that reaches the gap, by L·di/dt = −R·i − V from i to zero (elementary circuit theory).
 *
 * Duration (L/R)·ln(1 + R·i/V); charge (L/R)·(i − (V/R)·ln(1 + R·i/V)); the gap gets V times the charge, the
 * resistances share the rest by their size.
 *
 * @throws {RangeError} inductance, current or voltage not positive, a resistance negative
 */
export function sparkEnergy(
  {inductanceH, currentA, gapV, otherOhm}: SparkCircuit,
  partOhm: number,
): SparkEnergy {
  if (!(inductanceH > 0) || !(currentA > 0) || !(gapV > 0) || !(otherOhm >= 0) || !(partOhm >= 0)) {
    throw new RangeError(
      "sparkEnergy: inductance, current and gap voltage must be above 0 and resistances ≥ 0, " +
        `found ${inductanceH} H, ${currentA} A, ${gapV} V, ${otherOhm} and ${partOhm} ohm`,
    );
  }
  const storedJ = (inductanceH * currentA * currentA) / 2;
  const x = ((otherOhm + partOhm) * currentA) / gapV;
  // gap share 2·(x − ln(1 + x))/x² and duration ratio ln(1 + x)/x, both 1 at x = 0
  const share = x < SMALL ? 1 - (2 * x) / 3 + (x * x) / 2 : (2 * (x - Math.log1p(x))) / (x * x);
  const pace = x === 0 ? 1 : Math.log1p(x) / x;
  const gapJ = storedJ * share;
  const lostJ = storedJ - gapJ;
  const partJ = partOhm === 0 ? 0 : (lostJ * partOhm) / (otherOhm + partOhm);
  return {storedJ, gapJ, partJ, durationS: ((inductanceH * currentA) / gapV) * pace};
}

/** Change of the energy in the gap when the part changes, as a share of it. */
export function gapEnergyChange(
  circuit: SparkCircuit,
  {baselineOhm, changedOhm}: {baselineOhm: number; changedOhm: number},
): number {
  return sparkEnergy(circuit, changedOhm).gapJ / sparkEnergy(circuit, baselineOhm).gapJ - 1;
}
