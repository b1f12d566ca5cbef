import assert from "node:assert/strict";

/**
 * Fails unless |value − expected| ≤ bound, and prints the three numbers.
 *
 * @param bound absolute bound, or {rel} relative to the expected value
 */
export function assertClose(
  value: number,
  expected: number,
  bound: number | {rel: number},
  what = "value",
): void {
  const absolute = typeof bound === "number" ? bound : bound.rel * Math.abs(expected);
  const off = Math.abs(value - expected);
  assert.ok(off <= absolute, `${what}: ${value} is off ${expected} by ${off}, more than ${absolute}`);
}
