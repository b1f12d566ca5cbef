import type {VerifyDifference} from "../result/verify-document.ts";

/** Numbers computed again may differ by rounding of the last steps on another machine; a printed digit never hides in this. */
const RELATIVE = 1e-9;
const ABSOLUTE = 1e-12;

/** Where two values of JSON differ, by path; numbers that agree to 9 figures are the same. */
export function compareValues(where: string, page: unknown, recomputed: unknown): VerifyDifference[] {
  if (typeof page === "number" && typeof recomputed === "number") {
    const size = Math.max(Math.abs(page), Math.abs(recomputed));
    if (Math.abs(page - recomputed) <= RELATIVE * size + ABSOLUTE) return [];
    return [{where, page, recomputed, by: recomputed - page}];
  }
  if (isObject(page) && isObject(recomputed) && Array.isArray(page) === Array.isArray(recomputed)) {
    const keys = [...new Set([...Object.keys(page), ...Object.keys(recomputed)])];
    const dot = where.endsWith(": ") ? "" : ".";
    return keys.flatMap(key => compareValues(`${where}${dot}${key}`, page[key], recomputed[key]));
  }
  if (page === recomputed || (page === undefined && recomputed === undefined)) return [];
  return [{where, page: shown(page), recomputed: shown(recomputed), by: null}];
}

/** Differences told of one text; beyond these the page is another one. */
const MAX_TOLD = 20;

/**
 * Where two pages differ. Both are read as a row of tags and texts; what differs is named after the element with the nearest id
 * before it. Numbers in a text that differ are told with their difference.
 */
export function comparePages(page: string, recomputed: string): VerifyDifference[] {
  if (page === recomputed) return [];
  const [a, b] = [pieces(page), pieces(recomputed)];
  const differences: VerifyDifference[] = [];
  let where = "head";
  const [start, endA, endB] = differing(a, b);
  const sameLength = endA - start === endB - start;
  for (let i = 0; i < Math.max(endA, start + 1) && differences.length < MAX_TOLD; i++) {
    const id = /^<[^>]*? id="([^"]*)"/.exec(a[i] ?? "")?.[1];
    if (id !== undefined) where = id;
    if (i < start) continue;
    if (!sameLength) {
      const [pageText, newText] = [a.slice(i, endA), b.slice(i, endB)].map(list => excerpt(list.join("")));
      differences.push({where, page: pageText!, recomputed: newText!, by: null});
      break;
    }
    if (a[i] !== b[i]) differences.push(...comparePieces(where, a[i]!, b[i]!));
  }
  return differences;
}

/** First index at which two lists differ, and the end of the differing part in each. */
function differing(a: readonly string[], b: readonly string[]): [start: number, endA: number, endB: number] {
  let start = 0;
  while (start < a.length && start < b.length && a[start] === b[start]) start++;
  let [endA, endB] = [a.length, b.length];
  while (endA > start && endB > start && a[endA - 1] === b[endB - 1]) {
    endA--;
    endB--;
  }
  return [start, endA, endB];
}

function pieces(html: string): string[] {
  return html.match(/<[^>]*>|[^<]+/g) ?? [];
}

const NUMBER = /[-−+]?\d+(?:\.\d+)?/g;

function comparePieces(where: string, page: string, recomputed: string): VerifyDifference[] {
  const [numbersA, numbersB] = [page, recomputed].map(text => text.match(NUMBER) ?? []);
  const [restA, restB] = [page, recomputed].map(text => text.replace(NUMBER, "#"));
  const isOnlyNumbers = restA === restB && numbersA!.length === numbersB!.length && page.length < 10_000;
  if (!isOnlyNumbers) return [{where, page: excerpt(page), recomputed: excerpt(recomputed), by: null}];
  return numbersA!.flatMap((text, i) => {
    const other = numbersB![i]!;
    if (text === other) return [];
    return [{where, page: text, recomputed: other, by: rounded(toNumber(other) - toNumber(text))}];
  });
}

function toNumber(text: string): number {
  return Number(text.replace("−", "-"));
}

/** A difference of decimal texts without the noise of binary fractions. */
function rounded(value: number): number {
  return Number(value.toPrecision(9));
}

const EXCERPT_CHARACTERS = 160;

function excerpt(text: string): string {
  return text.length > EXCERPT_CHARACTERS ? `${text.slice(0, EXCERPT_CHARACTERS)}…` : text;
}

function shown(value: unknown): string | number | null {
  if (value === null || value === undefined) return null;
  if (typeof value === "string") return excerpt(value);
  return typeof value === "number" ? value : excerpt(JSON.stringify(value));
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null;
}
