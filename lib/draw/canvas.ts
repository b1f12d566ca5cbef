import {deflateSync} from "node:zlib";

/**
 * As much of a canvas as a heatmap needs: rectangles in plain colours and blocks of pixels, as a PNG. Everything else that
 * Plotly asks a canvas for when it loads does nothing.
 */
export function drawingContext(canvas: {width: number; height: number}) {
  const perLetterPx = 7;
  let [width, height] = [0, 0];
  let pixels = new Uint8ClampedArray(0);
  /** The size of a canvas may be set at any time, and clears it. */
  const surface = () => {
    if (width !== canvas.width || height !== canvas.height) {
      [width, height] = [canvas.width, canvas.height];
      pixels = new Uint8ClampedArray(4 * width * height);
    }
    return pixels;
  };
  return {
    fillStyle: "#000000",
    createImageData: (w: number, h: number) => ({
      width: w,
      height: h,
      data: new Uint8ClampedArray(4 * w * h),
    }),
    putImageData(image: {width: number; height: number; data: ArrayLike<number>}, left: number, top: number) {
      const target = surface();
      for (let y = Math.max(0, -top); y < image.height && y + top < height; y++) {
        for (let x = Math.max(0, -left); x < image.width && x + left < width; x++) {
          for (let part = 0; part < 4; part++) {
            target[4 * ((y + top) * width + x + left) + part] = image.data[4 * (y * image.width + x) + part]!;
          }
        }
      }
    },
    fillRect(left: number, top: number, w: number, h: number) {
      const target = surface();
      const colour = colourParts(this.fillStyle);
      const [right, bottom] = [Math.min(width, Math.round(left + w)), Math.min(height, Math.round(top + h))];
      for (let y = Math.max(0, Math.round(top)); y < bottom; y++) {
        for (let x = Math.max(0, Math.round(left)); x < right; x++) target.set(colour, 4 * (y * width + x));
      }
    },
    measureText: (text: string) => ({width: perLetterPx * text.length}),
    /** the picture so far, for the canvas's `toDataURL` */
    png: () => pngBytes(surface(), width, height),
  };
}

/** Red, green, blue and opacity, 0 … 255, of a colour as Plotly writes them for a canvas; black where it is none. */
function colourParts(colour: string): [number, number, number, number] {
  const hex = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(colour);
  if (hex)
    return [...hex.slice(1).map(part => Number.parseInt(part, 16)), 255] as [number, number, number, number];
  const [r = 0, g = 0, b = 0, opacity = 1] = (/^rgba?\(([^)]*)\)$/.exec(colour)?.[1] ?? "")
    .split(",")
    .map(Number);
  return [r, g, b, Math.round(255 * opacity)];
}

const SIGNATURE = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];
const COLOUR_WITH_OPACITY = 6;

/** A picture of 8 bits a channel as PNG (ISO/IEC 15948), rows unfiltered. */
function pngBytes(pixels: Uint8ClampedArray, width: number, height: number): Buffer {
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, COLOUR_WITH_OPACITY, 0, 0, 0], 8);
  const rows = Buffer.alloc(height * (1 + 4 * width));
  for (let y = 0; y < height; y++) {
    rows.set(pixels.subarray(4 * width * y, 4 * width * (y + 1)), y * (1 + 4 * width) + 1);
  }
  return Buffer.concat([
    Buffer.from(SIGNATURE),
    chunk("IHDR", head),
    chunk("IDAT", deflateSync(rows)),
    chunk("IEND", Buffer.alloc(0)),
  ]);
}

function chunk(type: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(type, "latin1"), data]);
  const whole = Buffer.alloc(body.length + 8);
  whole.writeUInt32BE(data.length, 0);
  whole.set(body, 4);
  whole.writeUInt32BE(crc32(body), body.length + 4);
  return whole;
}

/** CRC-32 as ISO/IEC 15948, annex D computes it; zlib's own function came after Node 20.15. */
function crc32(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return (crc ^ 0xffffffff) >>> 0;
}
