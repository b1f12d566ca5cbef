/** Numbers that loggers write for "no value"; no quantity of a car takes them. */
const MISSING_CODES = new Set([-9999, -99999, 1e10, -1e10]);
/** Numbers smaller than this are no codes. */
export const LEAST_CODE = 9999;

/** True for a number that stands for "no value". */
export function isMissingCode(value: number): boolean {
  return Math.abs(value) >= LEAST_CODE && MISSING_CODES.has(value); // the set alone is slow
}

/** What is told of such a number in a column. */
export function missingCodeWords(value: number, header: string): string {
  return `${value} stands for no value in column "${header}"`;
}
