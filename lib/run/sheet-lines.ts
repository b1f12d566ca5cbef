import type {RunSheet, SheetCell, SheetRow} from "../result/run-sheet.ts";
import {clockSeconds} from "./clock.ts";
import {rowName} from "./match-sheet.ts";

/** Cells that become conditions, and the unit in which the sheet asks for them. */
const CONDITIONS: readonly [SheetCell, string, string][] = [
  ["air", "airTemperature", "degC"],
  ["intake", "intakeTemperature", "degC"],
  ["coolant", "coolant", "degC"],
  ["fuel", "fuel", "l"],
  ["wind", "wind", "m/s"],
];
const ARMS = ["baseline", "changed", "A", "B"];

/**
 * Lines of a session for what a row of the sheet says of its run: arm, exclusion, note, traffic, guess, conditions. A cell that is no
 * number where one is asked for goes into the note as it was typed.
 *
 * @param options direction and clock time that the log tells, or null; refit as planned
 * @returns the lines, with what was doubtful in words
 */
export function sheetLines(
  row: SheetRow,
  {direction, at, refit}: {direction: "out" | "back" | null; at: string | null; refit: boolean},
): {lines: string[]; notes: string[]} {
  const {cells} = row;
  const notes: string[] = [];
  const remarks = cells.remarks === undefined ? [] : [cells.remarks];
  const conditions: string[] = [];
  const add = (cell: SheetCell, key: string, unit: string) => {
    const typed = cells[cell];
    if (typed === undefined) return;
    const value = /^[-+−]?\d+(?:[.,]\d+)?$/.test(typed)
      ? Number(typed.replace(",", ".").replace("−", "-"))
      : Number.NaN;
    if (Number.isFinite(value)) conditions.push(`${key}: ${value} ${unit}`);
    else {
      remarks.push(`${cell}: ${typed}`);
      notes.push(`${rowName(row)}: "${typed}" under ${cell} is no number and stands in the run's note`);
    }
  };
  for (const [cell, key, unit] of CONDITIONS) add(cell, key, unit);
  if (cells.tyresHot === undefined) add("tyresCold", "tyrePressure", "bar");
  else {
    add("tyresHot", "tyrePressure", "bar");
    if (cells.tyresCold !== undefined) remarks.push(`tyres cold: ${cells.tyresCold} bar`);
  }
  const guess = ARMS.find(arm => arm.toLowerCase() === cells.guess?.trim().toLowerCase());
  if (cells.guess !== undefined && guess === undefined) remarks.push(`guess: ${cells.guess}`);
  if (direction !== null && direction !== row.direction) {
    notes.push(
      `${rowName(row)} was planned ${row.direction}, and its log heads ${direction}; the log counts`,
    );
  }
  const isClock = cells.start !== undefined && clockSeconds(cells.start) !== null;
  if (at === null && cells.start !== undefined && !isClock) {
    remarks.push(`start: ${cells.start}`);
    notes.push(`${rowName(row)}: "${cells.start}" is no clock time and stands in the run's note`);
  }
  const text = (key: string, value: string | undefined) =>
    value === undefined ? [] : [`    ${key}: ${JSON.stringify(value)}`];
  return {
    lines: [
      `    arm: ${row.arm}`,
      ...(direction === null ? [`    direction: ${row.direction}`] : []),
      ...(at === null && isClock ? text("at", cells.start) : []),
      ...(refit ? ["    refitted: true"] : []),
      ...(row.isVoid
        ? ['    exclude: "declared void on the run sheet"', "    excludedBefore: not known"]
        : []),
      ...text("note", remarks.length === 0 ? undefined : remarks.join("; ")),
      ...text("traffic", cells.traffic),
      ...text("guess", guess),
      ...(conditions.length === 0 ? [] : [`    conditions: {${conditions.join(", ")}}`]),
    ],
    notes,
  };
}

/** The sheet that counts where several were saved for one plan, the one saved last, and what the others say differently. */
export function lastSheet(sheets: readonly {file: string; sheet: RunSheet}[]): {
  file: string;
  sheet: RunSheet;
  notes: string[];
} {
  const sorted = [...sheets].sort((a, b) =>
    a.sheet.saved < b.sheet.saved ? -1 : a.sheet.saved > b.sheet.saved ? 1 : 0,
  );
  const last = sorted[sorted.length - 1];
  const notes = sorted.slice(0, -1).map(({file, sheet}) => {
    const other = sheet.rows
      .filter((row, i) => JSON.stringify(row) !== JSON.stringify(last.sheet.rows[i]))
      .map(rowName);
    return `the sheet was saved twice: ${last.file}, saved later, counts, and ${file} is left aside${other.length === 0 ? "; they say the same" : `; they differ in ${[...new Set(other)].join(", ")}`}`;
  });
  if (sheets.length === 1 && last.sheet.saves > 1) {
    notes.push(
      `${last.file} is what was saved the ${last.sheet.saves}. time; an earlier file of it is not to be merged as well`,
    );
  }
  return {...last, notes};
}
