/** Acts one after the other, some of which must wait for what they act with. */
export interface Turns {
  /** Acts at once where nothing before is waited for, so that a computation can show how far it is; else in its turn. */
  take(act: (() => void) | Promise<() => void>): void;
  /** Settles when every act so far is done. */
  all(): Promise<void>;
  /** Forgets what is waited for, since it will never come. */
  reset(): void;
}

export function createTurns(onError: (error: unknown) => void): Turns {
  let last: Promise<void> | null = null;
  return {
    take(act) {
      if (last === null && typeof act === "function") {
        act();
        return;
      }
      const before = last;
      const mine: Promise<void> = Promise.resolve(act)
        .then(async ready => {
          await before;
          ready();
        }, onError)
        .finally(() => {
          if (last === mine) last = null;
        });
      last = mine;
    },
    all: async () => {
      await last;
    },
    reset() {
      last = null;
    },
  };
}
