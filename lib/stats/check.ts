/** Larger magnitudes are refused: their squares and the sums of these would leave the range of a double. */
const LARGEST = 1e150;

/**
 * Refuses values that are not finite numbers of a usable size, naming the first one by its index.
 *
 * @throws {RangeError} a value is NaN, infinite or larger than 1e150
 */
export function requireFinite(caller: string, values: ArrayLike<number>, what: string): void {
  for (let i = 0; i < values.length; i++) {
    if (!(Math.abs(values[i]) <= LARGEST)) {
      throw new RangeError(
        `${caller}: ${what} must be finite numbers, but ${what}[${i}] is ${values[i]}; leave it out or mend it`,
      );
    }
  }
}

/** @throws {RangeError} fewer than `least` values, or one of them not finite */
export function requireValues(caller: string, values: ArrayLike<number>, what: string, least = 1): void {
  if (values.length < least) {
    throw new RangeError(
      `${caller}: at least ${least} ${what} needed, but there ${values.length === 1 ? "is 1" : `are ${values.length}`}`,
    );
  }
  requireFinite(caller, values, what);
}

/** @throws {RangeError} the lengths differ */
export function requireSameLength(
  caller: string,
  left: ArrayLike<unknown>,
  right: ArrayLike<unknown>,
  what: string,
): void {
  if (left.length !== right.length) {
    throw new RangeError(
      `${caller}: ${what} must have the same length, but ${left.length} meets ${right.length}`,
    );
  }
}

/** @throws {RangeError} `value` is not strictly between 0 and 1 */
export function requireFraction(caller: string, value: number, what: string): void {
  if (!(value > 0 && value < 1)) {
    throw new RangeError(`${caller}: ${what} must lie between 0 and 1, but it is ${value}`);
  }
}

/** @throws {RangeError} `value` is not finite and positive */
export function requirePositive(caller: string, value: number, what: string): void {
  if (!(value > 0 && value < Number.POSITIVE_INFINITY)) {
    throw new RangeError(`${caller}: ${what} must be a positive number, but it is ${value}`);
  }
}

/** @throws {RangeError} `value` is not a whole number ≥ `least` */
export function requireWhole(caller: string, value: number, what: string, least = 1): void {
  if (!(Number.isSafeInteger(value) && value >= least)) {
    throw new RangeError(
      `${caller}: ${what} must be a whole number of at least ${least}, but it is ${value}`,
    );
  }
}
