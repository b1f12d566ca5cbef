import {InputError} from "../result/error.ts";
import type {UnitRow} from "../units/table.ts";
import {editDistance, findUnit} from "../units/unit.ts";
import type {RawColumn} from "./reader.ts";
import {VOCABULARY} from "./vocabulary.ts";

/** A column that the user named for a quantity. */
export interface DeclaredColumn {
  column: RawColumn;
  /** unit given behind the colon, or null where the file's own holds */
  unit: UnitRow | null;
}

/** The option's spelling for messages: `--column speed="Velocity [km/h]"`. */
export function columnOption(name: string, column: string): string {
  return `--column ${name}="${column}"`;
}

/**
 * Columns that the user declared, by quantity. COLUMN or COLUMN:UNIT; the unit is what follows the last colon if it is
 * one; COLUMN is a name exact after trimming, or a number counted from 1.
 *
 * @throws {InputError} 2: unknown quantity, no such column, several columns of that name, a unit of another dimension
 */
export function declaredColumns(
  file: string,
  columns: RawColumn[],
  declared: Record<string, string>,
): Map<string, DeclaredColumn> {
  const found = new Map<string, DeclaredColumn>();
  for (const [name, written] of Object.entries(declared)) {
    const quantity = VOCABULARY.find(row => row.name === name);
    if (!quantity) throw unknownQuantity(name);
    const {column, unitText} = resolveColumn(file, columns, name, written.trim());
    const unit = unitText === null ? null : findUnit(unitText);
    if (unit && quantity.dimension !== "none" && unit.dimension !== quantity.dimension) {
      throw new InputError(2, {
        code: "wrong-dimension",
        words: `${unit.symbol} is the unit of a ${unit.dimension}, ${name} is a ${quantity.dimension}`,
        column: column.header,
        hint: "give the column's own unit behind the colon",
      });
    }
    found.set(name, {column, unit});
  }
  return found;
}

function resolveColumn(
  file: string,
  columns: RawColumn[],
  name: string,
  written: string,
): {column: RawColumn; unitText: string | null} {
  const whole = columnsCalled(columns, written);
  const colon = written.lastIndexOf(":");
  if (whole.length === 0 && colon > 0) {
    const before = columnsCalled(columns, written.slice(0, colon).trim());
    const unitText = written.slice(colon + 1).trim();
    if (before.length > 0) {
      if (findUnit(unitText) === null) {
        throw new InputError(2, {
          code: "unknown-unit",
          words: `the unit "${unitText}" given for ${name} is not known`,
          hint: "write for example km/h, mph, m/s, s, ms, degC",
        });
      }
      return {column: single(file, name, before), unitText};
    }
  }
  if (whole.length === 0) throw unknownColumn(file, columns, name, written);
  return {column: single(file, name, whole), unitText: null};
}

function columnsCalled(columns: RawColumn[], written: string): RawColumn[] {
  const named = columns.filter(
    ({header, source}) => header === written || (source !== null && `${header} (${source})` === written),
  );
  if (named.length > 0 || !/^\d+$/.test(written)) return named;
  return columns.filter(column => column.number === Number(written));
}

function single(file: string, name: string, found: RawColumn[]): RawColumn {
  if (found.length === 1) return found[0];
  throw new InputError(2, {
    code: "ambiguous-column",
    words: `${found.length} columns are called "${found[0].header}"`,
    file,
    column: found[0].header,
    hint: `give the column's number: ${found.map(column => `--column ${name}=${column.number}`).join(" or ")}`,
  });
}

function unknownColumn(file: string, columns: RawColumn[], name: string, written: string): InputError {
  const near = columns
    .map(column => ({column, edits: editDistance(column.header.toLowerCase(), written.toLowerCase())}))
    .sort((a, b) => a.edits - b.edits)[0];
  const close = near && near.edits <= Math.max(2, written.length / 4);
  const names = columns.slice(0, 12).map(column => `"${column.header}"`);
  return new InputError(2, {
    code: "unknown-column",
    words: `there is no column "${written}" for ${name}`,
    file,
    hint: close
      ? `did you mean ${columnOption(name, near.column.header)}`
      : `the columns are ${names.join(", ")}${columns.length > 12 ? " …" : ""}`,
  });
}

function unknownQuantity(name: string): InputError {
  const near = VOCABULARY.map(row => ({row, edits: editDistance(row.name, name.toLowerCase())})).sort(
    (a, b) => a.edits - b.edits,
  );
  const hint =
    near[0].edits <= 2
      ? `did you mean ${near[0].row.name}=`
      : `known are ${VOCABULARY.map(row => row.name).join(", ")}`;
  return new InputError(2, {
    code: "unknown-quantity",
    words: `a column cannot be declared as "${name}"`,
    hint,
  });
}
