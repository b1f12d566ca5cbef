/** A direct-current circuit: one source, one path, one load in series, the part in the path. */
export interface DirectCurrentCircuit {
  /** open voltage of the source [V] */
  sourceV: number;
  /** current that flows with the baseline part [A] */
  currentA: number;
}

/** Ohms beside what they are worth in the circuit. */
export interface CircuitShare {
  /** resistance of the whole circuit with the baseline part [ohm] */
  wholeOhm: number;
  /** the part's share of it, 0 … 1 */
  partShare: number;
  /** change of current when the part changes, as a share of the current */
  currentChange: number;
  /** change of power in the load, as a share of it */
  powerChange: number;
  /** what the model leaves out, in words */
  limits: string;
}

const LIMITS =
  "every resistance is taken as constant; a motor's counter-voltage, a regulator or a fuse that warms makes the change smaller, so the figure is an upper bound";

/**
 * Change of current and of power in the load when one part of a series circuit changes from `baselineOhm` to `changedOhm`.
 * Ohm's law on the whole loop: its resistance is source voltage over current, load power goes with the square of current.
 *
 * @throws {RangeError} voltage or current not positive, a part with more resistance than the whole circuit
 */
export function directCurrentShare(
  {sourceV, currentA}: DirectCurrentCircuit,
  {baselineOhm, changedOhm}: {baselineOhm: number; changedOhm: number},
): CircuitShare {
  if (!(sourceV > 0) || !(currentA > 0)) {
    throw new RangeError(
      `directCurrentShare: voltage and current must be above 0, found ${sourceV} V and ${currentA} A`,
    );
  }
  const wholeOhm = sourceV / currentA;
  if (!(baselineOhm >= 0 && baselineOhm <= wholeOhm) || !(changedOhm >= 0)) {
    throw new RangeError(
      `directCurrentShare: the parts must be ≥ 0 ohm and the baseline part at most the whole circuit of ${wholeOhm} ohm, ` +
        `found ${baselineOhm} and ${changedOhm} ohm`,
    );
  }
  const ratio = wholeOhm / (wholeOhm - baselineOhm + changedOhm);
  return {
    wholeOhm,
    partShare: baselineOhm / wholeOhm,
    currentChange: ratio - 1,
    powerChange: ratio * ratio - 1,
    limits: LIMITS,
  };
}
