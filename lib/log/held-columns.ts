import {sourcedMeaning} from "./channels.ts";
import {type DeclaredColumn, declaredColumns} from "./declared.ts";
import {keepsDigits} from "./obd/raw-pids.ts";
import type {RawColumn, ReadOptions} from "./reader.ts";

/** A table that takes more memory than this is read for what is asked of it alone [bytes]. */
export const LARGE_TABLE_BYTES = 128 << 20;

/**
 * True for a table of which all values of some columns are needed to tell what they are: several of one quantity, fixes, bytes of a
 * bus, positions beside a speed without a unit or no speed at all.
 */
export function needsWhole(columns: readonly RawColumn[], declared: Map<string, DeclaredColumn>): boolean {
  const meanings = columns.map(sourcedMeaning);
  const names = meanings.flatMap(({quantity}) => quantity?.name ?? []);
  const speedKnown =
    Boolean(declared.get("speed")?.unit) ||
    meanings.some(({quantity, unit}) => quantity?.name === "speed" && unit !== null);
  return (
    names.includes("fix") ||
    names.some((name, k) => name !== "time" && names.indexOf(name) < k) ||
    (names.includes("latitude") && names.includes("longitude") && !speedKnown) ||
    columns.some(
      ({kind, labels}, k) =>
        kind === "text" &&
        keepsDigits(
          columns.map(({header}) => header),
          k,
          labels ?? [],
        ),
    )
  );
}

/**
 * Which columns of a large table are held in memory: those of the quantities asked for, those declared, and those without which
 * it cannot be told what the others are: every column that may be the time, texts, several of one quantity, fixes, and
 * positions where no column is a speed with a unit.
 */
export function heldColumns(
  file: string,
  quantities: readonly string[],
  declared: Record<string, string>,
): NonNullable<ReadOptions["hold"]>["which"] {
  return columns => {
    const own = new Set([...declaredColumns(file, columns, declared).values()].map(({column}) => column));
    const meanings = columns.map(sourcedMeaning);
    const names = meanings.map(({quantity}) => quantity?.name ?? null);
    const speedKnown = meanings.some(({quantity, unit}) => quantity?.name === "speed" && unit !== null);
    const needed = new Set([
      ...quantities,
      "time",
      "fix",
      ...(speedKnown ? [] : ["speed", "vehicle-speed", "latitude", "longitude", "segment"]),
    ]);
    return columns.map((column, k) => {
      const name = names[k];
      const isTime = isTimeOfSomeKind(column) || meanings[k].unit?.dimension === "time";
      const several = name !== null && names.indexOf(name) !== names.lastIndexOf(name);
      return (
        isTime || column.kind === "text" || own.has(column) || several || (name !== null && needed.has(name))
      );
    });
  };
}

function isTimeOfSomeKind({kind}: RawColumn): boolean {
  return kind === "clock" || kind === "date" || kind === "date-time";
}
