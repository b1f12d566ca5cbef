/** Exact powers of ten: 10²² is the last that a double holds. */
const POWERS = Array.from({length: 23}, (_, k) => Number(`1e${k}`));
/** As many digits always make an exact integer: 10¹⁵ < 2⁵³. */
const EXACT_DIGITS = 15;
/** Digits beyond these that the two-part path takes; together 19, as long as doubles are ever printed. */
const TAIL_DIGITS = 4;
/** Relative error allowed to the low part of the two-part quotient; its true error is below 2⁻⁴⁹. */
const LOW_PART_DOUBT = 2 ** -40;
/** Splits a double into two halves of 26 bits (T. J. Dekker, Numer. Math. 18 (1971) 224). */
const SPLITTER = 2 ** 27 + 1;

const [ZERO, NINE, PLUS, MINUS, SMALL_E, LARGE_E] = [48, 57, 43, 45, 101, 69];

/**
 * Reads a decimal number from bytes into `out[index]`, to the last bit as `Number(text)` does.
 *
 * Up to 15 digits with a power of ten up to 10^±22 are one exact integer and one exact power, so one operation rounds
 * once (W. D. Clinger, PLDI 1990, §3). Up to 19 digits are divided in two parts with a bound on the error; where
 * the bound does not settle the rounding, and for all else, the text goes through `Number`.
 *
 * @param at      first byte: a sign, a digit or the decimal sign
 * @param end     no byte from here on is read
 * @param decimal the decimal sign, "." or "," as a byte
 * @returns place after the last byte of the number, or −1 where there is no finite number (nothing is written then)
 */
export function readNumber(
  bytes: Uint8Array,
  at: number,
  end: number,
  decimal: number,
  out: Float64Array,
  index: number,
): number {
  let p = at;
  let negative = false;
  if (bytes[p] === MINUS || bytes[p] === PLUS) negative = bytes[p++] === MINUS;
  const first = p;
  let head = 0; // first 15 significant digits
  let digits = 0; // significant digits so far
  let tail = 0; // the digits after them
  let byte = 0;
  for (; p < end; p++) {
    byte = bytes[p];
    if (byte < ZERO || byte > NINE) break;
    if (digits < EXACT_DIGITS) {
      head = head * 10 + (byte - ZERO);
      if (head !== 0) digits++;
    } else {
      if (digits < EXACT_DIGITS + TAIL_DIGITS) tail = tail * 10 + (byte - ZERO);
      digits++;
    }
  }
  let written = p - first;
  let exponent = 0;
  if (p < end && bytes[p] === decimal) {
    const point = ++p;
    for (; p < end; p++) {
      byte = bytes[p];
      if (byte < ZERO || byte > NINE) break;
      if (digits < EXACT_DIGITS) {
        head = head * 10 + (byte - ZERO);
        if (head !== 0) digits++;
      } else {
        if (digits < EXACT_DIGITS + TAIL_DIGITS) tail = tail * 10 + (byte - ZERO);
        digits++;
      }
    }
    exponent = point - p;
    written += p - point;
  }
  if (written === 0) return -1;
  if (p < end && (bytes[p] === SMALL_E || bytes[p] === LARGE_E)) {
    let q = p + 1;
    let sinks = false;
    if (q < end && (bytes[q] === MINUS || bytes[q] === PLUS)) sinks = bytes[q++] === MINUS;
    const firstDigit = q;
    let power = 0;
    for (; q < end && bytes[q] >= ZERO && bytes[q] <= NINE; q++) {
      if (power < 10_000) power = power * 10 + (bytes[q] - ZERO);
    }
    if (q === firstDigit) return -1; // "12e" is no number
    exponent += sinks ? -power : power;
    p = q;
  }
  let value = Number.NaN;
  if (digits <= EXACT_DIGITS) {
    if (exponent === 0) value = head;
    else if (exponent < 0 && exponent >= -22) value = head / POWERS[-exponent];
    else if (exponent > 0 && exponent <= 22) value = head * POWERS[exponent];
  } else if (digits <= EXACT_DIGITS + TAIL_DIGITS && exponent <= 0 && exponent >= -22) {
    value = longQuotient(head, POWERS[digits - EXACT_DIGITS], tail, POWERS[-exponent]);
  }
  if (Number.isNaN(value)) {
    value = slowNumber(bytes, first, p, decimal);
    if (!Number.isFinite(value)) return -1;
  }
  out[index] = negative ? -value : value;
  return p;
}

/** (head · scale + tail) / divisor, correctly rounded, or NaN where the error bound does not settle the rounding. */
function longQuotient(head: number, scale: number, tail: number, divisor: number): number {
  const product = head * scale;
  const whole = product + tail;
  const low = productError(head, scale, product) + (tail - (whole - product));
  const quotient = whole / divisor;
  const back = quotient * divisor;
  const rest = (whole - back - productError(quotient, divisor, back) + low) / divisor;
  const above = quotient + rest * (1 + LOW_PART_DOUBT);
  const below = quotient + rest * (1 - LOW_PART_DOUBT);
  return above === below ? above : Number.NaN;
}

/** a · b − product exactly, for product = fl(a · b) (Dekker's product without fused multiply-add). */
function productError(a: number, b: number, product: number): number {
  const bigA = SPLITTER * a;
  const highA = bigA - (bigA - a);
  const lowA = a - highA;
  const bigB = SPLITTER * b;
  const highB = bigB - (bigB - b);
  const lowB = b - highB;
  return highA * highB - product + highA * lowB + lowA * highB + lowA * lowB;
}

function slowNumber(bytes: Uint8Array, at: number, end: number, decimal: number): number {
  let text = "";
  for (let p = at; p < end; p++) text += bytes[p] === decimal ? "." : String.fromCharCode(bytes[p]);
  return Number(text);
}
