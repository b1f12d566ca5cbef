/** Why a text is not the quantity or unit that was asked for. */
export type UnitErrorCode =
  | "unknown-unit"
  | "missing-unit"
  | "wrong-dimension"
  | "decimal-comma"
  | "not-a-quantity";

/**
 * A quantity or unit that cannot be read as written. The message says what was found; `hint` what to write
 * instead. Callers that know file and line put both into an error of their own.
 */
export class UnitError extends RangeError {
  readonly code: UnitErrorCode;
  readonly hint: string | undefined;

  constructor(code: UnitErrorCode, message: string, hint?: string) {
    super(message);
    this.name = "UnitError";
    this.code = code;
    this.hint = hint;
  }
}
