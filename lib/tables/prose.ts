import {DISPLAY, type Displayed, INSPECT} from "../figures/display.ts";

/** Markdown that shows itself. */
export interface Prose extends Displayed {
  text: string;
}

/** A hyphen that stands for a minus: before a digit, at the start or after a blank or bracket. */
const HYPHEN_MINUS = /(?<=^|[\s(])-(?=\d)/gm;

/**
 * Markdown whose numbers are computed: `` prose`The mean is ${mean} s.` `` in a cell tagged `prose`.
 * Numbers are shown with four significant digits; give text for anything else.
 *
 * @throws {RangeError} a number that is not finite, or a value that is missing: it would be printed for all to see
 */
export function prose(parts: TemplateStringsArray, ...values: (string | number)[]): Prose {
  const joined = parts.slice(1).reduce((before, part, i) => before + shown(values[i], i) + part, parts[0]);
  const text = joined.replace(HYPHEN_MINUS, "−");
  return {
    text,
    [DISPLAY]: () => ({"text/markdown": text, "text/plain": text}),
    [INSPECT]: () => text,
  };
}

function shown(value: string | number, place: number): string {
  if (typeof value === "string") return value;
  if (!Number.isFinite(value))
    throw new RangeError(`prose: value ${place + 1} is ${value}; say in words why there is none`);
  return String(Number(value.toPrecision(4)));
}
