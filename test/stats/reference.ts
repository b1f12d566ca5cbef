import assert from "node:assert/strict";
import {readFileSync} from "node:fs";

/** A reference row; `E` is what its expectation (or each of its cases) holds. */
export interface Row<E> {
  id: string;
  expected: E;
  cases: E[];
  tolerance: Record<string, number>;
}

/** Rows and data sets of `test/reference/stats-<topic>.json`; each row names its source there. */
export function reference(topic: string): {row<E>(id: string): Row<E>; data<T>(name: string): T} {
  const file = new URL(`../reference/stats-${topic}.json`, import.meta.url);
  const {rows, datasets} = JSON.parse(readFileSync(file, "utf8")) as {
    rows: Row<never>[];
    datasets: Record<string, unknown>;
  };
  return {
    row<E>(id: string): Row<E> {
      const found = rows.find(row => row.id === id);
      assert.ok(found, `no row ${id} in ${file.pathname}`);
      return found as Row<E>;
    },
    data<T>(name: string): T {
      assert.ok(name in datasets, `no data set ${name} in ${file.pathname}`);
      return datasets[name] as T;
    },
  };
}

/** Fails unless `count` of `n` is within `sigmas` binomial standard errors of the probability. */
export function assertShare(count: number, n: number, probability: number, sigmas = 4): void {
  const error = Math.sqrt((probability * (1 - probability)) / n);
  const share = count / n;
  assert.ok(
    Math.abs(share - probability) <= sigmas * error,
    `${count} of ${n} = ${share}, expected ${probability} ± ${sigmas} × ${error}`,
  );
}

/** Fails unless the probability behind `count` of `n` can lie between `low` and `high`, at four binomial errors. */
export function assertShareWithin(count: number, n: number, low: number, high: number): void {
  const error = (p: number): number => 4 * Math.sqrt((p * (1 - p)) / n);
  const share = count / n;
  assert.ok(
    share >= low - error(low) && share <= high + error(high),
    `${count} of ${n} = ${share}, expected ${low} to ${high}, give or take four binomial errors`,
  );
}
