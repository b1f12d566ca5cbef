import {UnitError} from "./error.ts";
import {type Dimension, SI_SYMBOL, UNITS, type UnitRow} from "./table.ts";

const exact = new Map<string, UnitRow>();
/** lower-case spelling → row, or null where two units differ in case only (mW and MW) */
const anyCase = new Map<string, UnitRow | null>();

for (const row of UNITS) {
  for (const spelling of [row.symbol, ...row.spellings]) {
    const key = normalise(spelling);
    exact.set(key, row);
    const lower = key.toLowerCase();
    const other = anyCase.get(lower);
    anyCase.set(lower, other === undefined || other === row ? row : null);
  }
}

/**
 * The unit a text names, or null. Read are symbols and spellings of the table, in any case where that leaves one
 * meaning, in square, round, curly or angled brackets (also mistyped or half missing), with degree, micro and power
 * signs in any of their usual forms, a degree sign that was encoded twice included.
 *
 * @param text such as "km/h", "[km/h]", "(°C]", "m/s²", "Â°C"
 */
export function findUnit(text: string): UnitRow | null {
  const key = normalise(withoutBrackets(text));
  return exact.get(key) ?? anyCase.get(key.toLowerCase()) ?? null;
}

/**
 * As `findUnit`, for text that must be a unit.
 *
 * @param name what the text stands for, to begin the message with
 * @throws {UnitError} "unknown-unit", naming the nearest known ones
 */
export function parseUnit(text: string, name?: string): UnitRow {
  const unit = findUnit(text);
  if (unit) return unit;
  const start = name === undefined ? "" : `${name}: `;
  const near = nearUnits(text);
  const hint =
    near.length > 0 ? `near are ${near.join(", ")}` : "write for example km/h, mph, m/s, kg, degC, hPa";
  throw new UnitError("unknown-unit", `${start}the unit "${text.trim()}" is not known`, hint);
}

/** Value in the unit of `SI_SYMBOL` for a value written in `unit`. Rounds at most twice. */
export function toSI(value: number, unit: string | UnitRow): number {
  const row = typeof unit === "string" ? parseUnit(unit) : unit;
  return ((value + row.offset) * row.factor) / row.divisor;
}

/** Value in `unit` for a value in the unit of `SI_SYMBOL`. Rounds at most twice. */
export function fromSI(valueSI: number, unit: string | UnitRow): number {
  const row = typeof unit === "string" ? parseUnit(unit) : unit;
  return (valueSI * row.divisor) / row.factor - row.offset;
}

/** Symbol of the unit in which values of this dimension are held. */
export function siSymbol(dimension: Dimension): string {
  return SI_SYMBOL[dimension];
}

/** "a mass", "an area": the dimension with its article, for messages. */
export function withArticle(dimension: Dimension): string {
  return `${/^[aeiou]/.test(dimension) ? "an" : "a"} ${dimension}`;
}

/** Takes off enclosing brackets, also mistyped ones; one that closes a bracket inside, as in "N/(m/s)", stays. */
function withoutBrackets(text: string): string {
  const inner = text.trim().replace(/^[[({<]+/, "");
  const body = inner.replace(/[\])}>]+$/, "");
  const open = body.split(/[[({<]/).length - body.split(/[\])}>]/).length;
  return inner.slice(0, body.length + Math.max(0, open));
}

/** One spelling for the many signs of degree, micro, powers and products; blanks are dropped around slashes. */
function normalise(text: string): string {
  return text
    .replace(/[º˚∘]/g, "°") // before NFKC, which would make º an o
    .normalize("NFKC") // ² → 2, ℃ → °C, µ → μ, full-width forms
    .replace(/Â|Ã‚|\uFFFD(?=[CF]$)/g, "")
    .replace(/[μµ]/g, "u")
    .replace(/[Ωω]/g, "Ω")
    .replace(/°\s*([CFK])$/i, (_, letter: string) => `deg${letter.toUpperCase()}`)
    .replace(/^°$/, "deg")
    .replace(/^°\//, "deg/")
    .replace(/[⋅·]/g, " ")
    .replace(/[−–]/g, "-")
    .replace(/\s*\/\s*/g, "/")
    .replace(/\s+/g, " ")
    .trim();
}

/** Longest edit distance that still counts as a typing error. */
const NEAR_EDITS = 2;
/** Number of near units an error names. */
const NEAR_COUNT = 4;

function nearUnits(text: string): string[] {
  const wanted = normalise(text).toLowerCase();
  if (wanted === "" || wanted.length > 40) return [];
  const best = new Map<UnitRow, number>();
  for (const [spelling, unit] of exact) {
    const edits = editDistance(wanted, spelling.toLowerCase());
    if (edits <= Math.min(NEAR_EDITS, Math.max(1, wanted.length - 1)))
      best.set(unit, Math.min(best.get(unit) ?? edits, edits));
  }
  return [...best]
    .sort((a, b) => a[1] - b[1])
    .slice(0, NEAR_COUNT)
    .map(([unit]) => unit.symbol);
}

/** Levenshtein distance: insertions, deletions and exchanges of one character. */
export function editDistance(a: string, b: string): number {
  let previous = Array.from({length: b.length + 1}, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const current = [i];
    for (let j = 1; j <= b.length; j++) {
      const exchanged = previous[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1);
      current.push(Math.min(exchanged, previous[j] + 1, current[j - 1] + 1));
    }
    previous = current;
  }
  return previous[b.length];
}
