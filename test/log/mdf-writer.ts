import {deflateSync} from "node:zlib";

/** A conversion rule; references are texts or rules of their own. */
export interface ConversionSpec {
  type: number;
  values?: number[];
  references?: (string | ConversionSpec | null)[];
  unit?: string;
}

export interface ChannelSpec {
  name: string;
  unit?: string;
  /** 0 fixed, 1 variable length, 2 master, 3 virtual master, … */
  type?: number;
  syncType?: number;
  /** 0 unsigned LE, 1 BE, 2 signed LE, 3 BE, 4 float LE, 5 BE, 6–9 texts, … */
  dataType: number;
  byteOffset: number;
  bitOffset?: number;
  bitCount: number;
  /** number of its invalidation bit */
  invalidBit?: number;
  allInvalid?: boolean;
  conversion?: ConversionSpec;
  source?: string;
  parts?: ChannelSpec[];
  array?: boolean;
}

export interface GroupSpec {
  name?: string;
  recordId?: number;
  /** 1 = variable length, 2 = bus events, 8 = remote master */
  flags?: number;
  dataBytes: number;
  invalidBytes?: number;
  channels: ChannelSpec[];
  /** records without id; of variable ones without length */
  records: Uint8Array[];
  /** what the group says of its number of records, where that is not the truth */
  announced?: number;
}

export interface DataSpec {
  groups: GroupSpec[];
  idBytes?: number;
  /** groups in the order of their records; default all of the first, then all of the second, … */
  order?: number[];
  /** one block, a list of blocks, a list behind a header */
  layout?: "block" | "list" | "header list";
  zip?: "deflate" | "transposed";
  /** bytes of records in a block of a list */
  blockBytes?: number;
}

export interface MdfSpec {
  data: DataSpec[];
  startNs?: bigint;
  id?: string;
  version?: number;
}

/** Writes ASAM MDF 4.10, from the block layout of test/reference/mdf.json. For tests: no reader's code is used. */
export function writeMdf({data, startNs = 0n, id = "MDF     ", version = 410}: MdfSpec): Uint8Array {
  const out = new Output();
  out.bytes(64 + 104); // identification and header, filled in at the end
  let next = 0;
  for (const spec of [...data].reverse()) next = writeData(out, spec, next);
  const head = new Output();
  head.text(`${id}${(version / 100).toFixed(2)}    `.slice(0, 16));
  head.bytes(12);
  head.uint16(version);
  head.bytes(34);
  block(head, "HD", [next, 0, 0, 0, 0, 0], body => {
    body.uint64(startNs);
    body.bytes(24);
  });
  const file = out.done();
  file.set(head.done(), 0);
  return file;
}

function writeData(out: Output, spec: DataSpec, next: number): number {
  const {groups, idBytes = 0, order, layout = "block", blockBytes = 1 << 20, zip} = spec;
  const stream = new Output();
  const at = groups.map(() => 0);
  for (const index of order ?? groups.flatMap((group, i) => group.records.map(() => i))) {
    const {recordId = 0, flags = 0, records} = groups[index];
    const record = records[at[index]++];
    for (let i = 0; i < idBytes; i++) stream.uint8(Math.floor(recordId / 256 ** i) % 256);
    if (flags & 1) stream.uint32(record.length);
    stream.raw(record);
  }
  const bytes = stream.done();
  const rowBytes = groups[0].dataBytes + (groups[0].invalidBytes ?? 0) + idBytes;
  const cut = layout === "block" ? Math.max(1, bytes.length) : blockBytes;
  const places: number[] = [];
  for (let from = 0; from < bytes.length || places.length === 0; from += cut) {
    places.push(writeRecords(out, bytes.subarray(from, from + cut), zip, rowBytes));
  }
  let first = places[0];
  if (layout !== "block") {
    // two lists, so that the chain of lists is followed
    const half = Math.ceil(places.length / 2);
    first = 0;
    for (const part of [places.slice(half), places.slice(0, half)]) {
      if (part.length === 0) continue;
      first = block(out, "DL", [first, ...part], body => {
        body.uint32(0); // flags: offsets, none of them used
        body.uint32(part.length);
        for (const _ of part) body.uint64(0n);
      });
    }
    if (layout === "header list") first = block(out, "HL", [first], body => body.bytes(8));
  }
  let firstGroup = 0;
  for (const group of [...groups].reverse()) firstGroup = writeGroup(out, group, firstGroup);
  return block(out, "DG", [next, firstGroup, first, 0], body => {
    body.uint8(idBytes);
    body.bytes(7);
  });
}

function writeRecords(out: Output, bytes: Uint8Array, zip: DataSpec["zip"], rowBytes: number): number {
  if (zip === undefined) return block(out, "DT", [], body => body.raw(bytes));
  const packed = deflateSync(zip === "transposed" ? transposed(bytes, rowBytes) : bytes);
  return block(out, "DZ", [], body => {
    body.text("DT");
    body.uint8(zip === "transposed" ? 1 : 0);
    body.uint8(0);
    body.uint32(zip === "transposed" ? rowBytes : 0);
    body.uint64(BigInt(bytes.length));
    body.uint64(BigInt(packed.length));
    body.raw(packed);
  });
}

function transposed(bytes: Uint8Array, rowBytes: number): Uint8Array {
  const rows = Math.floor(bytes.length / rowBytes);
  return bytes.map((byte, i) =>
    i < rows * rowBytes ? bytes[(i % rows) * rowBytes + Math.floor(i / rows)] : byte,
  );
}

function writeGroup(out: Output, group: GroupSpec, next: number): number {
  const {name, recordId = 0, flags = 0, dataBytes, invalidBytes = 0, channels, records, announced} = group;
  const first = writeChannels(out, channels);
  return block(out, "CG", [next, first, text(out, name), 0, 0, 0], body => {
    body.uint64(BigInt(recordId));
    body.uint64(BigInt(announced ?? records.length));
    body.uint16(flags);
    body.bytes(6);
    body.uint32(dataBytes);
    body.uint32(invalidBytes);
  });
}

function writeChannels(out: Output, channels: ChannelSpec[]): number {
  let first = 0;
  for (const channel of [...channels].reverse()) {
    const {parts, array, source} = channel;
    const composition = array
      ? block(out, "CA", [0], body => body.bytes(16))
      : parts
        ? writeChannels(out, parts)
        : 0;
    const sourceAt = source ? block(out, "SI", [text(out, source), 0, 0], body => body.bytes(8)) : 0;
    const conversion = channel.conversion ? writeConversion(out, channel.conversion) : 0;
    const links = [
      first,
      composition,
      text(out, channel.name),
      sourceAt,
      conversion,
      0,
      text(out, channel.unit),
      0,
    ];
    first = block(out, "CN", links, body => {
      body.uint8(channel.type ?? 0);
      body.uint8(channel.syncType ?? 0);
      body.uint8(channel.dataType);
      body.uint8(channel.bitOffset ?? 0);
      body.uint32(channel.byteOffset);
      body.uint32(channel.bitCount);
      body.uint32((channel.allInvalid ? 1 : 0) + (channel.invalidBit === undefined ? 0 : 2));
      body.uint32(channel.invalidBit ?? 0);
      body.bytes(4 + 48);
    });
  }
  return first;
}

export function writeConversion(
  out: Output,
  {type, values = [], references = [], unit}: ConversionSpec,
): number {
  const places = references.map(entry =>
    entry === null ? 0 : typeof entry === "string" ? text(out, entry) : writeConversion(out, entry),
  );
  return block(out, "CC", [0, text(out, unit), 0, 0, ...places], body => {
    body.uint8(type);
    body.bytes(3);
    body.uint16(places.length);
    body.uint16(values.length);
    body.bytes(16);
    for (const value of values) body.float64(value);
  });
}

/** A TX block, or an MD block for a text that is XML. */
function text(out: Output, words: string | undefined): number {
  if (words === undefined) return 0;
  return block(out, words.startsWith("<") ? "MD" : "TX", [], body => {
    body.raw(new TextEncoder().encode(words));
    body.uint8(0);
  });
}

function block(out: Output, id: string, links: number[], write: (body: Output) => void): number {
  const body = new Output();
  write(body);
  const data = body.done();
  const at = out.length;
  out.text(`##${id}`);
  out.bytes(4);
  out.uint64(BigInt(24 + 8 * links.length + data.length));
  out.uint64(BigInt(links.length));
  for (const link of links) out.uint64(BigInt(link));
  out.raw(data);
  out.bytes((8 - (out.length % 8)) % 8);
  return at;
}

/** Little-endian bytes that grow. */
export class Output {
  #parts: number[] = [];
  get length(): number {
    return this.#parts.length;
  }
  raw(bytes: Uint8Array): void {
    for (const byte of bytes) this.#parts.push(byte);
  }
  bytes(count: number): void {
    this.raw(new Uint8Array(count));
  }
  text(words: string): void {
    this.raw(new TextEncoder().encode(words));
  }
  uint8(value: number): void {
    this.#parts.push(value);
  }
  uint16(value: number): void {
    this.raw(new Uint8Array(Uint16Array.of(value).buffer));
  }
  uint32(value: number): void {
    this.raw(new Uint8Array(Uint32Array.of(value).buffer));
  }
  uint64(value: bigint): void {
    this.raw(new Uint8Array(BigUint64Array.of(value).buffer));
  }
  float64(value: number): void {
    this.raw(new Uint8Array(Float64Array.of(value).buffer));
  }
  done(): Uint8Array {
    return Uint8Array.from(this.#parts);
  }
}
