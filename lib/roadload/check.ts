/** @throws {RangeError} `value` is NaN or infinite */
export function requireFinite(caller: string, name: string, value: number): void {
  if (!Number.isFinite(value))
    throw new RangeError(`${caller}: ${name} must be a finite number, found ${value}`);
}

/** @throws {RangeError} `value` is not finite or below zero */
export function requireNotNegative(caller: string, name: string, value: number): void {
  if (!(value >= 0 && value < Number.POSITIVE_INFINITY))
    throw new RangeError(`${caller}: ${name} must be a finite number ≥ 0, found ${value}`);
}

/** @throws {RangeError} `value` is not finite or not above zero */
export function requirePositive(caller: string, name: string, value: number): void {
  if (!(value > 0 && value < Number.POSITIVE_INFINITY))
    throw new RangeError(`${caller}: ${name} must be a finite number above 0, found ${value}`);
}
