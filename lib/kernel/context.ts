import {AsyncLocalStorage} from "node:async_hooks";
import files from "node:fs/promises";
import timers from "node:timers";
import {promisify} from "node:util";

/** Knows which cell the running code belongs to, also in timers and promises that outlive the cell. */
export interface CellContext {
  run(cell: number, work: () => unknown): void;
  /** the cell, or null where nobody knows */
  now(): number | null;
  /** The cell was stopped: none of its timers fires any more. */
  stop(cell: number): void;
}

/** Follows timers, promises, input and output, through Node's asynchronous context. */
export function followEverything(): CellContext {
  const storage = new AsyncLocalStorage<number>();
  return {
    run: (cell, work) => storage.run(cell, work),
    now: () => storage.getStore() ?? null,
    stop() {}, // here a cell is stopped by ending its process
  };
}

/**
 * Follows timers and what the promises do that they settle; what waits for files or the network is not known by its
 * cell, but stops with it.
 *
 * For code that may be terminated: Node 20 and 22 follow promises by hooks whose bookkeeping a termination leaves
 * unbalanced, and end the process for it. Here the timer functions of the process are replaced by ones that remember
 * the cell.
 *
 * @param onError told of what a timer throws, while its cell is known
 */
export function followTimers(onError: (thrown: unknown) => void): CellContext {
  let current: number | null = null;
  let latest = 0;
  const stopped = new Set<number>();
  const {_tickCallback: drain} = process as unknown as {_tickCallback(): void};
  const cellNow = () => current ?? latest;

  /** Lets what a stopped cell waits for never come; it would go on in the background otherwise. */
  const follow = (owner: Record<string, unknown>, names: readonly string[]) => {
    for (const name of names) {
      const original = owner[name];
      if (typeof original !== "function") continue;
      owner[name] = (...args: unknown[]) => {
        const cell = cellNow();
        const result = original.apply(owner, args);
        if (!(result instanceof Promise)) return result;
        const never = new Promise(() => {});
        return result.then(
          value => (stopped.has(cell) ? never : value),
          error => {
            if (!stopped.has(cell)) throw error;
            return never;
          },
        );
      };
    }
  };
  const promised = timers.promises as unknown as Record<string, unknown>;
  follow(promised, ["setTimeout", "setImmediate"]);
  follow(files as unknown as Record<string, unknown>, Object.keys(files));
  follow(globalThis as unknown as Record<string, unknown>, ["fetch"]);
  for (const name of ["setTimeout", "setInterval", "setImmediate"] as const) {
    const original = timers[name] as (callback: unknown, ...rest: unknown[]) => unknown;
    const following = (callback: unknown, ...rest: unknown[]) => original(bound(callback), ...rest);
    if (name !== "setInterval") Object.defineProperty(following, promisify.custom, {value: promised[name]});
    (timers as Record<string, unknown>)[name] = following;
    (globalThis as Record<string, unknown>)[name] = following;
  }

  function bound(callback: unknown): unknown {
    if (typeof callback !== "function") return callback; // Node says what is wrong
    const cell = cellNow();
    return function (this: unknown, ...args: unknown[]) {
      if (stopped.has(cell)) return;
      current = cell;
      try {
        callback.apply(this, args);
        drain(); // what Node does next anyway; here while the cell is known
      } catch (thrown) {
        onError(thrown);
      }
      current = null; // not in a finally block: where the code is terminated, it would not be reached either
    };
  }

  return {
    run(cell, work) {
      current = null;
      latest = cell;
      work();
    },
    now: () => current,
    stop(cell) {
      current = null;
      stopped.add(cell);
    },
  };
}
