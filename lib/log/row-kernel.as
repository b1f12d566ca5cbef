// Rows of plain numbers, from bytes to columns of doubles, 16 bytes at a time.
//
// AssemblyScript (assemblyscript.org): the types of TypeScript's syntax are those of WebAssembly, `load` and `store` go to
// memory. `row-kernel-bytes.ts` holds this file compiled; test/perf says how and holds the two together.
//
// The kernel decides nothing that rows.ts decides. A row with as many fields as the table and at least one plain number is
// written to the columns; its cells that are neither plain numbers nor empty are listed as odd. Any other line, and any with a
// quotation mark in front of a cell, is listed as odd whole and left to the reader that goes cell by cell.

const TAB: u32 = 9;
const CR: u32 = 13;
const BLANK: u32 = 32;
const QUOTE: u32 = 34;
const PLUS: u32 = 43;
const MINUS: u32 = 45;
const ZERO: u32 = 48;
const SMALL_E: u32 = 101;

/** More digits than this do not fit 64 bits. */
const MOST_DIGITS: u32 = 19;
/** Powers of ten up to this are exact doubles. */
const EXACT_POWER: i32 = 22;
/** Whole numbers below 2⁵³ are exact doubles. */
const EXACT_WHOLE: u64 = 9007199254740992;

/**
 * @param text      address of the first byte of a line
 * @param end       address behind the newline of the last line; 16 bytes more can be read
 * @param plain     address of one byte a field: 1 = its plain numbers are read here, 0 = all its cells are odd
 * @param powers    address of 10⁰ … 10²² as doubles
 * @param columns   address of row 0 of the first column
 * @param stride    bytes from one column to the next
 * @param oddCells  address of pairs of u32: offset of the cell from `text`, row · fields + field
 * @param oddLines  address of pairs of u32: offset of the line from `text`, rows before it
 * @param counts    address of three u32 that are written: rows, odd cells, odd lines
 */
export function parseRows(
  text: usize,
  end: usize,
  fields: u32,
  separator: u32,
  decimal: u32,
  newline: u32,
  plain: usize,
  powers: usize,
  columns: usize,
  stride: usize,
  oddCells: usize,
  oddLines: usize,
  counts: usize,
): void {
  const points = i8x16.splat(<i8>decimal);
  let p = text;
  let rows: u32 = 0;
  let cells: u32 = 0;
  let lines: u32 = 0;
  while (p < end) {
    const line = p;
    const cellsBefore = cells;
    let numbers: u32 = 0;
    let field: u32 = 0;
    let target = columns + (<usize>rows << 3);
    let whole = false;
    while (true) {
      p = skipBlanks(p, separator, newline);
      let byte: u32 = load<u8>(p);
      if (field == fields) {
        whole = byte == newline; // behind a separator that ends every row
        break;
      }
      let q = p;
      if (byte == separator || byte == newline) {
        store<f64>(target, NaN);
      } else {
        let value: f64 = NaN;
        if (load<u8>(plain + field) != 0) {
          // Sign, digits and point at once: the first byte that is none of them is the end.
          const negative = byte == MINUS;
          const sign: u32 = <u32>negative | <u32>(byte == PLUS);
          const bytes = v128.load(p);
          const above = i8x16.sub(bytes, i8x16.splat(48));
          const isDigit = i8x16.lt_u(above, i8x16.splat(10));
          const isPoint = i8x16.eq(bytes, points);
          const number: u32 = <u32>i8x16.bitmask(v128.or(isDigit, isPoint)) | sign;
          const length: u32 = ctz(~number | 0x10000);
          const pointMask: u32 = <u32>i8x16.bitmask(isPoint) & ((1 << length) - 1);
          let pointSeen: u32 = <u32>(pointMask != 0);
          const point: u32 = ctz(pointMask | (1 << length));
          let digits: u32 = length - pointSeen; // with the sign, which counts as a leading zero
          let decimals: u32 = digits - point;
          if (pointSeen == 0) decimals = 0;
          // Digits moved to the right end, the point squeezed out; an index out of range gives 0.
          let index = i8x16.sub(
            i8x16(0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15),
            i8x16.splat(<i8>(16 - digits)),
          );
          index = i8x16.sub(index, i8x16.ge_s(index, i8x16.splat(<i8>point)));
          const ones = i8x16.swizzle(v128.and(above, isDigit), index);
          const twos = i16x8.add(
            i16x8.mul(v128.and(ones, i16x8.splat(0xff)), i16x8.splat(10)),
            i16x8.shr_u(ones, 8),
          );
          const fours = i32x4.dot_i16x8_s(twos, i16x8(100, 1, 100, 1, 100, 1, 100, 1));
          const eights = i32x4.dot_i16x8_s(
            i16x8.narrow_i32x4_u(fours, fours),
            i16x8(10000, 1, 10000, 1, 10000, 1, 10000, 1),
          );
          let mantissa: u64 =
            <u64>i32x4.extract_lane(eights, 0) * 100000000 + <u64>i32x4.extract_lane(eights, 1);
          digits -= sign;
          let bad = digits == 0 || (pointMask & (pointMask - 1)) != 0;
          q = p + length;
          let next: u32 = load<u8>(q);
          if (length == 16) {
            while (true) {
              if (next - ZERO < 10) {
                mantissa = mantissa * 10 + <u64>(next - ZERO);
                digits++;
                decimals += pointSeen;
              } else if (next == decimal && pointSeen == 0) pointSeen = 1;
              else break;
              next = load<u8>(++q);
            }
            if (digits > MOST_DIGITS) bad = true;
          }
          let exponent: i32 = -(<i32>decimals);
          if ((next | 32) == SMALL_E) {
            next = load<u8>(++q);
            const sinks = next == MINUS;
            if (sinks || next == PLUS) next = load<u8>(++q);
            if (next - ZERO >= 10) bad = true;
            let power: i32 = 0;
            while (next - ZERO < 10) {
              if (power < 10000) power = power * 10 + <i32>(next - ZERO);
              next = load<u8>(++q);
            }
            exponent += sinks ? -power : power;
          }
          if (!bad) value = scaled(mantissa, exponent, powers);
          if (next != separator && next != newline) {
            q = skipBlanks(q, separator, newline);
            next = load<u8>(q);
            if (next != separator && next != newline) value = NaN;
          }
          if (negative) value = -value;
          byte = next;
        }
        store<f64>(target, value);
        if (value == value) {
          numbers++;
        } else {
          q = p;
          byte = load<u8>(q);
          if (byte == QUOTE) break;
          store<u32>(oddCells + (cells << 3), <u32>(p - text));
          store<u32>(oddCells + (cells << 3), rows * fields + field, 4);
          cells++;
          while (byte != separator && byte != newline) byte = load<u8>(++q);
        }
      }
      field++;
      target += stride;
      if (byte == newline) {
        whole = field == fields;
        p = q;
        break;
      }
      p = q + 1;
    }
    if (whole && numbers != 0) {
      rows++;
    } else {
      cells = cellsBefore;
      store<u32>(oddLines + (lines << 3), <u32>(line - text));
      store<u32>(oddLines + (lines << 3), rows, 4);
      lines++;
      p = line;
      while (load<u8>(p) != newline) p++;
    }
    p++;
  }
  store<u32>(counts, rows);
  store<u32>(counts, cells, 4);
  store<u32>(counts, lines, 8);
}

// @ts-ignore: decorator of AssemblyScript
@inline
function skipBlanks(p: usize, separator: u32, newline: u32): usize {
  let byte: u32 = load<u8>(p);
  while (byte <= BLANK && byte != separator && byte != newline) {
    if (byte != BLANK && byte != 0 && byte != CR && byte != TAB) break;
    byte = load<u8>(++p);
  }
  return p;
}

/** mantissa · 10^exponent, correctly rounded, or NaN where neither way below settles it. */
// @ts-ignore: decorator of AssemblyScript
@inline
function scaled(mantissa: u64, exponent: i32, powers: usize): f64 {
  if (mantissa < EXACT_WHOLE) {
    // one exact integer and one exact power: a single rounding
    if (exponent < 0) {
      return exponent >= -EXACT_POWER ? <f64>(<i64>mantissa) / load<f64>(powers - (exponent << 3)) : NaN;
    }
    return exponent <= EXACT_POWER ? <f64>(<i64>mantissa) * load<f64>(powers + (exponent << 3)) : NaN;
  }
  if (exponent > 0 || exponent < -EXACT_POWER) return NaN;
  return longQuotient(mantissa, load<f64>(powers - (exponent << 3)));
}

/** As `longQuotient` of number-bytes.ts: in two parts, NaN where the bound on the error does not settle the rounding. */
function longQuotient(mantissa: u64, divisor: f64): f64 {
  const whole = <f64>mantissa;
  const low = <f64>(<i64>(mantissa - <u64>whole));
  const quotient = whole / divisor;
  const back = quotient * divisor;
  const rest = (whole - back - productError(quotient, divisor, back) + low) / divisor;
  const doubt: f64 = 1.0 / 1099511627776.0; // 2⁻⁴⁰
  const above = quotient + rest * (1.0 + doubt);
  const below = quotient + rest * (1.0 - doubt);
  return above == below ? above : NaN;
}

/** a · b − product exactly, for product = fl(a · b) (T. J. Dekker, Numer. Math. 18 (1971) 224). */
function productError(a: f64, b: f64, product: f64): f64 {
  const splitter: f64 = 134217729.0; // 2²⁷ + 1
  const bigA = splitter * a;
  const highA = bigA - (bigA - a);
  const lowA = a - highA;
  const bigB = splitter * b;
  const highB = bigB - (bigB - b);
  const lowB = b - highB;
  return highA * highB - product + highA * lowB + lowA * highB + lowA * lowB;
}
