/** One measure of service 01 and how its data bytes are read. */
export interface PidRow {
  pid: number;
  /** words that the vocabulary knows, where the measure is one of its quantities */
  words: string;
  unit: string | null;
  bytes: number;
  value(a: number, b: number): number;
  source: string;
}

const J1979 =
  "SAE J1979 / ISO 15031-5, service 01, annex of PIDs (from memory; compared with a public table of ISO 15031)";
const MEMORY = "SAE J1979 / ISO 15031-5, service 01, annex of PIDs (from memory)";
const percent = (a: number) => (a * 100) / 255;
const trim = (a: number) => (a * 100) / 128 - 100;
const celsius = (a: number) => a - 40;
const whole = (a: number, b: number) => 256 * a + b;

function row(
  pid: number,
  words: string,
  unit: string | null,
  bytes: number,
  value: PidRow["value"],
  source = MEMORY,
): PidRow {
  return {pid, words, unit, bytes, value, source};
}

/** Measures that are read. A new one is a new line. */
export const PIDS: readonly PidRow[] = [
  row(0x04, "Engine load", "%", 1, percent, J1979),
  row(0x05, "Coolant temperature", "degC", 1, celsius, J1979),
  row(0x06, "Short term fuel trim", "%", 1, trim, J1979),
  row(0x07, "Long term fuel trim", "%", 1, trim),
  row(0x0a, "Fuel pressure", "kPa", 1, a => 3 * a, J1979),
  row(0x0b, "Intake manifold pressure", "kPa", 1, a => a, J1979),
  row(0x0c, "Engine speed", "r/min", 2, (a, b) => whole(a, b) / 4, J1979),
  row(0x0d, "Vehicle speed", "km/h", 1, a => a, J1979),
  row(0x0e, "Timing advance", "deg", 1, a => a / 2 - 64, J1979),
  row(0x0f, "Intake air temperature", "degC", 1, celsius, J1979),
  row(0x10, "Mass air flow", "g/s", 2, (a, b) => whole(a, b) / 100, J1979),
  row(0x11, "Throttle position", "%", 1, percent, J1979),
  row(0x1f, "Engine run time", "s", 2, whole),
  row(0x21, "Distance with fault lamp", "km", 2, whole),
  row(0x2f, "Fuel level", "%", 1, percent),
  row(0x33, "Barometric pressure", "kPa", 1, a => a),
  row(0x34, "Lambda", null, 4, (a, b) => (2 * whole(a, b)) / 65536), // C and D are the sensor's current
  row(0x42, "Control module voltage", "V", 2, (a, b) => whole(a, b) / 1000),
  row(0x43, "Load by air mass", "%", 2, (a, b) => (whole(a, b) * 100) / 255),
  row(0x44, "Commanded lambda", null, 2, (a, b) => (2 * whole(a, b)) / 65536),
  row(0x45, "Throttle over its idle position", "%", 1, percent),
  row(0x46, "Ambient air temperature", "degC", 1, celsius),
  row(0x49, "Accelerator pedal position", "%", 1, percent),
  row(0x5c, "Oil temperature", "degC", 1, celsius),
  row(0x5e, "Fuel rate", "l/h", 2, (a, b) => whole(a, b) / 20),
  row(0x61, "Demanded share of torque", "%", 1, a => a - 125),
  row(0x62, "Actual share of torque", "%", 1, a => a - 125),
  row(0x63, "Reference torque", "N m", 2, whole),
];

/** Row of a PID, or null for one that is not read. */
export function pidRow(pid: number): PidRow | null {
  return PIDS.find(found => found.pid === pid) ?? null;
}

/**
 * Value of a PID from its data bytes, in the unit of its row; null where there are fewer bytes than it has, or it is not read.
 * Bytes behind the last are padding of the bus.
 */
export function pidValue(pid: number, bytes: readonly number[]): number | null {
  const found = pidRow(pid);
  if (!found || bytes.length < found.bytes) return null;
  return found.value(bytes[0], bytes[1] ?? 0);
}

/** One positive response. */
export interface PidResponse {
  pid: number;
  bytes: number[];
}

/** Hexadecimal digits and what stands between them; most cells of a log are told from it by their decimal point. */
const MAY_RESPOND = /^[0-9a-f\s,;:>]+$/i;
const RESPONSE = 0x41;
const NEGATIVE = 0x7f;

/**
 * A response as adapters print it ("41 0C 1A F8", "410D32", with the identifier of the bus and the number of bytes before it,
 * "7E8 04 41 0C 1A F8"); "negative" for a refusal ("7F 01 12"), null for anything else ("NO DATA").
 */
export function readResponse(text: string): PidResponse | "negative" | null {
  if (!MAY_RESPOND.test(text)) return null;
  const words = text
    .trim()
    .toUpperCase()
    .split(/[\s,;:>]+/)
    .filter(word => word !== "");
  const joined = words.join("");
  if (joined.length < 4) return null;
  const header = words.length > 1 && (words[0].length === 3 || words[0].length === 8) ? words[0].length : 0;
  for (const skip of header > 0 ? [header] : [0, 3, 8]) {
    const bytes = bytesOf(joined.slice(skip));
    const message = bytes && skip > 0 && bytes[0] <= 7 ? bytes.slice(1, 1 + bytes[0]) : bytes;
    if (!message) continue;
    if (message[0] === RESPONSE && message.length >= 3) return {pid: message[1], bytes: message.slice(2)};
    if (message[0] === NEGATIVE && message[1] === 1 && message.length >= 3) return "negative";
  }
  return null;
}

/** "1A F8", "1AF8", "0x1AF8" as bytes, or null for text that is no whole number of them. */
export function bytesOf(text: string): number[] | null {
  const digits = text.trim().replace(/^0x/i, "").replace(/\s+/g, "");
  if (digits.length === 0 || digits.length % 2 !== 0 || /[^0-9A-F]/i.test(digits)) return null;
  return Array.from({length: digits.length / 2}, (_, k) =>
    Number.parseInt(digits.slice(2 * k, 2 * k + 2), 16),
  );
}
