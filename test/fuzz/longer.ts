import {createRequire} from "node:module";
import type fastCheck from "fast-check";

/**
 * Takes the place of fast-check in `npm run fuzz`: every property of the suite runs many times longer, from a seed that
 * is new each time. A failure prints seed and counter-example; put them into the short test.
 */
const TIMES = 100;
/** A property that is slow ends after this time, in ms, however many runs it had. */
const LIMIT_MS = 60_000;

// by require, since an import of fast-check would lead back here
const {default: real}: {default: typeof fastCheck} = createRequire(import.meta.url)("fast-check");

const assert = (property: Parameters<typeof real.check>[0], parameters?: fastCheck.Parameters<unknown>) =>
  real.assert(property as fastCheck.IAsyncProperty<unknown>, {
    ...parameters,
    seed: undefined,
    numRuns: (parameters?.numRuns ?? 100) * TIMES,
    interruptAfterTimeLimit: LIMIT_MS,
  });

export default {...real, assert};
