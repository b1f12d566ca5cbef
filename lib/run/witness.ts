import type {Channel, Log} from "../result/log.ts";
import {firstNotBefore, valueInStep} from "../series/interpolate.ts";

/** A quantity over a stretch of time, by the samples that carry news. */
export interface Witness {
  timeS: Float64Array;
  values: Float64Array;
}

/** Values are held by the logger where they change in at most every second row. */
const HELD_ROWS = 2;

/** Samples of a channel between two times that have a value. */
export function samplesOf(log: Log, {values}: Channel, fromS: number, toS: number): Witness {
  const rows = filledRows(log, values, fromS, toS);
  return pickRows(log, values, rows);
}

/** As `samplesOf`; where the logger holds values over its rows, the first row of each. */
export function witnessOf(log: Log, {values}: Channel, fromS: number, toS: number): Witness {
  const rows = filledRows(log, values, fromS, toS);
  const changes = rows.filter((row, k) => k === 0 || values[row] !== values[rows[k - 1]]);
  return pickRows(
    log,
    values,
    rows.length >= HELD_ROWS * changes.length && changes.length > 2 ? changes : rows,
  );
}

function filledRows({timeS}: Log, values: Float64Array, fromS: number, toS: number): number[] {
  const rows: number[] = [];
  for (let i = firstNotBefore(timeS, fromS); i < timeS.length && timeS[i] <= toS; i++)
    if (Number.isFinite(values[i])) rows.push(i);
  return rows;
}

function pickRows({timeS}: Log, values: Float64Array, rows: number[]): Witness {
  return {
    timeS: Float64Array.from(rows, row => timeS[row]),
    values: Float64Array.from(rows, row => values[row]),
  };
}

/** Value at a time on the straight line between samples, NaN outside them and inside a step longer than `maxGapS`. */
export function witnessAt({timeS, values}: Witness, atS: number, maxGapS: number): number {
  const after = firstNotBefore(timeS, atS);
  if (after >= timeS.length || (after === 0 && timeS[0] !== atS)) return Number.NaN;
  if (after === 0) return values[0];
  return timeS[after] - timeS[after - 1] > maxGapS ? Number.NaN : valueInStep(timeS, values, after, atS);
}
