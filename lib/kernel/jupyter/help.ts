import type {Compiler} from "../compile.ts";

/** Places in a text as Jupyter counts them, in code points; JavaScript counts UTF-16 units, two for an emoji. */
export function unitsFromCodePoints(text: string, codePoints: number): number {
  let units = 0;
  for (let left = codePoints; left > 0 && units < text.length; left--) {
    units += text.codePointAt(units)! > 0xffff ? 2 : 1;
  }
  return units;
}

export function codePointsFromUnits(text: string, units: number): number {
  return Array.from(text.slice(0, units)).length;
}

/** Where a request about code points at, and what the code is compiled against. */
export interface CodePlace {
  declarations: string;
  code: string;
  /** code points from the start */
  cursor: number;
}

/** Content of a `complete_reply`. */
export function completeReply(compiler: Compiler, {declarations, code, cursor}: CodePlace): object {
  const {start, end, candidates} = compiler.complete(declarations, code, unitsFromCodePoints(code, cursor));
  return {
    status: "ok",
    matches: candidates,
    cursor_start: codePointsFromUnits(code, start),
    cursor_end: codePointsFromUnits(code, end),
    metadata: {},
  };
}

/** Content of an `inspect_reply`. */
export function inspectReply(compiler: Compiler, {declarations, code, cursor}: CodePlace): object {
  const at = unitsFromCodePoints(code, cursor);
  // Front-ends ask from inside the brackets of a call, or just behind a name; the name before is meant.
  for (const position of [at, at - 1, callBefore(code, at)]) {
    const text = position < 0 ? null : compiler.inspect(declarations, code, position);
    if (text !== null) {
      return {status: "ok", found: true, data: {"text/plain": text}, metadata: {}};
    }
  }
  return {status: "ok", found: false, data: {}, metadata: {}};
}

/** Place of the last letter of the name whose call's brackets stand around a position; -1 where there is none. */
function callBefore(code: string, at: number): number {
  let depth = 0;
  for (let i = at - 1; i >= 0; i--) {
    const letter = code[i]!;
    if (")]}".includes(letter)) depth++;
    else if (letter === "(" && depth === 0) return i - 1;
    else if ("([{".includes(letter)) depth = Math.max(0, depth - 1);
  }
  return -1;
}
