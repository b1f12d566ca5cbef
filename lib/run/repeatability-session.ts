import {dirname, resolve} from "node:path";
import {recordInput} from "../log/record-input.ts";
import type {Session} from "../result/session.ts";
import {readSessionBytes} from "./session.ts";
import {readSessionFile} from "./session-file.ts";

/** Keys of a comparison that a session of one car as it is does not have. */
const NOT_HERE = ["arms", "plan", "seal"];
const NOT_IN_A_RUN = ["arm", "block", "refitted", "guess"];
/** Smallest difference that a later test is asked to show, where the session names none. */
const DEFAULT_WORTHWHILE = "1 %";

/**
 * Reads a session of `test: repeatability`: runs of one car as it is, all alike. It has no arms and no plan; its `car` names what was
 * driven. Every run is in the baseline arm of the session that is returned, so that logs load as for a comparison.
 *
 * @throws {InputError} exit code 2 with line and column, as `readSession`; arms, a plan or a label of a run
 */
export function readRepeatabilitySession(file: string, {cwd = process.cwd()}: {cwd?: string} = {}): Session {
  const path = resolve(cwd, file);
  const session = readSessionBytes(readSessionFile(path, file), {
    file,
    folder: dirname(path),
    prepare(written, fail) {
      const {car = "the car as it is", ...rest} = written;
      if (typeof car !== "string" || car.trim() === "")
        fail(["car"], "car: a text is needed", "name what was driven");
      for (const key of NOT_HERE) {
        if (key in written)
          fail(
            [key],
            `${key}: a session of repeatability has one car as it is, and none of this`,
            "take it out",
          );
      }
      const runs = Array.isArray(written["runs"]) ? written["runs"] : [];
      return {
        worthwhile: DEFAULT_WORTHWHILE,
        ...rest,
        test: "comparison",
        arms: {baseline: car, changed: "not driven"},
        runs: runs.map((run: unknown, i) => {
          if (typeof run !== "object" || run === null) return run;
          const label = NOT_IN_A_RUN.find(key => key in run);
          if (label !== undefined)
            fail(["runs", i, label], `${label}: runs of one car have none`, "take it out");
          return {...run, arm: "baseline"};
        }),
      };
    },
  });
  recordInput(path, session.sha256);
  return {...session, test: "repeatability"};
}
