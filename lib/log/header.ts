import {findUnit} from "../units/unit.ts";
import type {CellKind} from "./cells.ts";
import {matchWords} from "./name-words.ts";
import {remembered} from "./remembered.ts";

/** What the lines above the table say of its columns. */
export interface HeaderNames {
  /** one a field; "" where there is none */
  names: string[];
  /** unit from a line of its own, without brackets, or null */
  units: (string | null)[];
  /** a further line's word, or null; used where columns share a name */
  sources: (string | null)[];
  /** names that have no field in the rows */
  surplus: string[];
  /** number of header lines; 0 where the table starts without any */
  lines: number;
}

/** A header has at most so many lines. */
const MAX_LINES = 3;

/**
 * Reads the names of columns from the lines above the table: one to three lines, with units and sources on lines of
 * their own in any order, or none.
 *
 * @param lines  the text lines
 * @param rows   their cells
 * @param kinds  kinds of the cells
 * @param data   index of the first row of the table
 * @param fields number of fields of a row
 */
export function readHeader(
  lines: string[],
  rows: string[][],
  kinds: CellKind[][],
  data: number,
  fields: number,
): HeaderNames {
  const block: string[][] = [];
  for (let i = data - 1; i >= 0 && block.length < MAX_LINES; i--) {
    if (lines[i].trim() === "") {
      if (block.length === 0) continue; // a blank line between header and table
      break;
    }
    const cells = withoutComment(rows[i]);
    if (!isHeaderLine(cells, kinds[i], block.length === 0 ? null : block[0].length, fields)) break;
    block.unshift(cells);
  }
  const unitLine =
    block.length === 1 ? -1 : block.findIndex(cells => isUnitLine(cells) && knownWords(cells) <= 1);
  const rest = block.filter((_, i) => i !== unitLine);
  // Of several lines the one with most of the field's words has the names; on equal count the lowest.
  let nameLine = rest.length - 1;
  for (let i = rest.length - 2; i >= 0; i--)
    if (knownWords(rest[i]) > knownWords(rest[nameLine])) nameLine = i;
  // What stands above the line of names of a table of two columns is head data ("Driver", "somebody").
  const names = rest[nameLine] ?? [];
  const sources = fields > 2 ? rest.find((_, i) => i !== nameLine) : undefined;
  return {
    names: Array.from({length: fields}, (_, k) => names[k] ?? ""),
    units: Array.from({length: fields}, (_, k) => bare(block[unitLine]?.[k])),
    sources: Array.from({length: fields}, (_, k) => sources?.[k] || null),
    surplus: names.slice(fields).filter(name => name !== ""),
    lines: block.length,
  };
}

function isHeaderLine(cells: string[], kinds: CellKind[], width: number | null, fields: number): boolean {
  const filled = cells.filter(cell => cell !== "").length;
  const numbers = kinds.filter(kind => kind !== "empty" && kind !== "text" && kind !== "flag").length;
  if (filled === 0 || 3 * numbers > filled) return false;
  if (width !== null) return Math.abs(cells.length - width) <= 1;
  return fields === 1 ? cells.length === 1 : cells.length > 1 && 2 * cells.length >= fields;
}

/** True for a line of which the filled cells are units or brackets. */
export function isUnitLine(cells: string[]): boolean {
  const filled = cells.filter(cell => cell !== "");
  const units = filled.filter(cell => findUnit(cell) !== null || /^[[({<].*[\])}>]$/.test(cell));
  return filled.length > 0 && 2 * units.length > filled.length;
}

/** Number of cells that the vocabulary knows. */
export function knownWords(cells: string[]): number {
  return cells.filter(isKnown).length;
}

const isKnown = remembered(cell => matchWords(cell) !== null);

/** "[km/h]" → "km/h"; empty brackets and an empty cell → null. */
function bare(cell: string | undefined): string | null {
  const text = (cell ?? "").replace(/^[[({<]\s*/, "").replace(/\s*[\])}>]$/, "");
  return text === "" ? null : text;
}

function withoutComment(cells: string[]): string[] {
  return [cells[0].replace(/^(?:#|%|\/\/)\s*/, ""), ...cells.slice(1)];
}
