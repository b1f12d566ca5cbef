import {readFileSync} from "node:fs";
import {createRequire} from "node:module";
import {inflateSync} from "node:zlib";

const require = createRequire(import.meta.url);

/** The family that pictures for a PNG are set in; their text is measured with the same letters. */
export const PICTURE_FONT = "DejaVu Sans";

let ready: Promise<typeof import("@resvg/resvg-wasm")> | null = null;

/**
 * An SVG text as a PNG, on a background of its own, with the one font that comes along: the same bytes on every machine.
 *
 * @param scale pixels of the picture for one CSS pixel
 * @throws {Error} the SVG cannot be read
 */
export async function pngOf(svg: string, scale: number): Promise<Uint8Array> {
  ready ??= (async () => {
    const module = await import("@resvg/resvg-wasm");
    await module.initWasm(readFileSync(require.resolve("@resvg/resvg-wasm/index_bg.wasm")));
    return module;
  })();
  const {Resvg} = await ready;
  const picture = new Resvg(svg, {
    fitTo: {mode: "zoom", value: scale},
    font: {fontBuffers: fonts(), defaultFontFamily: PICTURE_FONT, sansSerifFamily: PICTURE_FONT},
  });
  return picture.render().asPng();
}

function fonts(): Uint8Array[] {
  return [400, 700].map(weight =>
    openType(
      readFileSync(require.resolve(`@fontsource/dejavu-sans/files/dejavu-sans-latin-${weight}-normal.woff`)),
    ),
  );
}

/** Bytes of the heads of a WOFF file and of an OpenType file, and of one entry in their lists of tables. */
const WOFF = {head: 44, entry: 20};
const OPEN_TYPE = {head: 12, entry: 16};

/** The OpenType font in a WOFF 1.0 file (W3C Recommendation of 13 December 2012, sections 3 to 5). */
export function openType(woff: Uint8Array): Uint8Array {
  const from = Buffer.from(woff.buffer, woff.byteOffset, woff.byteLength);
  if (from.toString("latin1", 0, 4) !== "wOFF") throw new RangeError("openType: this is no WOFF 1.0 file");
  const count = from.readUInt16BE(12);
  const tables = Array.from({length: count}, (_, i) => {
    const at = WOFF.head + i * WOFF.entry;
    const [offset, packed, size] = [4, 8, 12].map(place => from.readUInt32BE(at + place)) as [
      number,
      number,
      number,
    ];
    const stored = from.subarray(offset, offset + packed);
    return {
      tag: from.subarray(at, at + 4),
      checksum: from.readUInt32BE(at + 16),
      data: packed < size ? inflateSync(stored, {maxOutputLength: size}) : stored,
    };
  });
  const head = Buffer.alloc(OPEN_TYPE.head + count * OPEN_TYPE.entry);
  const power = Math.floor(Math.log2(count));
  head.writeUInt32BE(from.readUInt32BE(4), 0);
  head.writeUInt16BE(count, 4);
  head.writeUInt16BE(16 << power, 6);
  head.writeUInt16BE(power, 8);
  head.writeUInt16BE(16 * count - (16 << power), 10);
  let at = head.length;
  const parts: Buffer[] = [head];
  for (const [i, {tag, checksum, data}] of tables.entries()) {
    const entry = OPEN_TYPE.head + i * OPEN_TYPE.entry;
    head.set(tag, entry);
    head.writeUInt32BE(checksum, entry + 4);
    head.writeUInt32BE(at, entry + 8);
    head.writeUInt32BE(data.length, entry + 12);
    const padded = Buffer.alloc(Math.ceil(data.length / 4) * 4);
    padded.set(data);
    parts.push(padded);
    at += padded.length;
  }
  return Buffer.concat(parts);
}
