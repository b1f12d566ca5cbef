import {InputError} from "../result/error.ts";

/** A binary log that is cut short or contradicts itself. */
export function damaged(
  file: string,
  words: string,
  hint = "copy it from the logger again or export it anew",
): InputError {
  return new InputError(1, {code: "log-damaged", words, file, hint});
}
