import type {Unread} from "../result/log.ts";

/** Counts of what was not read, by reason, each with the line of its first occurrence. */
export interface Tally {
  add(reason: string, line: number, count?: number): void;
  /** in order of first occurrence */
  rows(): Unread["rows"];
}

export function createTally(): Tally {
  const byReason = new Map<string, {count: number; first_line: number}>();
  return {
    add(reason, line, count = 1) {
      const entry = byReason.get(reason);
      if (entry) entry.count += count;
      else byReason.set(reason, {count, first_line: line});
    },
    rows: () => [...byReason].map(([reason, entry]) => ({reason, ...entry})),
  };
}
