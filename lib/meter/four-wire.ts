import {type BudgetLine, type Uncertain, withBudget} from "./budget.ts";

/** A value with its standard uncertainty and degrees of freedom (default Infinity). */
export interface Instrument {
  value: number;
  standardUncertainty: number;
  df?: number;
}

/**
 * Resistance from voltage and current, V/I. With four wires the leads carry no current where the voltage is taken;
 * with two wires give the resistance of the leads and it is subtracted. Errors are taken as independent.
 *
 * @param bench voltageV, currentA > 0, leadsOhm (two-wire form only)
 * @throws {RangeError} current not positive, an uncertainty negative or not finite
 */
export function resistanceFromCurrent(
  {voltageV, currentA, leadsOhm}: {voltageV: Instrument; currentA: Instrument; leadsOhm?: Instrument},
  {level}: {level?: number} = {},
): Uncertain {
  if (!(currentA.value > 0)) {
    throw new RangeError(`resistanceFromCurrent: the current must be above 0 A, found ${currentA.value}`);
  }
  const ratio = voltageV.value / currentA.value;
  const lines = [
    line("voltage", voltageV, 1 / currentA.value),
    line("current", currentA, -ratio / currentA.value),
    ...(leadsOhm ? [line("leads", leadsOhm, -1)] : []),
  ];
  return withBudget(ratio - (leadsOhm?.value ?? 0), lines, {level});
}

function line(
  source: string,
  {standardUncertainty, df = Number.POSITIVE_INFINITY}: Instrument,
  sensitivity: number,
): BudgetLine {
  if (!(standardUncertainty >= 0)) {
    throw new RangeError(`resistanceFromCurrent: the uncertainty of the ${source} is ${standardUncertainty}`);
  }
  return {source, words: `${source} as stated`, contribution: sensitivity * standardUncertainty, df};
}
