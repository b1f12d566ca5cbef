import {brotliDecompressSync, unzipSync} from "node:zlib";
import {type CompressionCodec, snappyUncompress} from "hyparquet";
import {decompressLz4, decompressLz4Raw, decompressZstd} from "hyparquet-compressors";

type Decompress = (bytes: Uint8Array, plainBytes: number) => Uint8Array;

/** Every codec that is read; none makes more than one byte beyond what is claimed. */
const CODECS: Partial<Record<CompressionCodec, Decompress>> = {
  UNCOMPRESSED: bytes => bytes,
  SNAPPY(bytes, plainBytes) {
    const plain = new Uint8Array(plainBytes);
    snappyUncompress(bytes, plain);
    return plain;
  },
  GZIP: (bytes, plainBytes) => unzipSync(bytes, {maxOutputLength: plainBytes + 1}),
  BROTLI: (bytes, plainBytes) => brotliDecompressSync(bytes, {maxOutputLength: plainBytes + 1}),
  // With a place to write to, the library sets nothing aside for what the frame claims.
  ZSTD: (bytes, plainBytes) => decompressZstd(bytes, new Uint8Array(plainBytes)),
  LZ4: decompressLz4,
  LZ4_RAW: decompressLz4Raw,
};

export function isKnownCodec(codec: CompressionCodec): boolean {
  return CODECS[codec] !== undefined;
}

/** Decompresses a page, or returns null where it is damaged or has another length than claimed. */
export function decompress(
  bytes: Uint8Array,
  codec: CompressionCodec,
  plainBytes: number,
): Uint8Array | null {
  if (plainBytes === 0 && bytes.length === 0) return bytes;
  try {
    const plain = CODECS[codec]!(bytes, plainBytes);
    return plain.length === plainBytes ? plain : null;
  } catch {
    return null;
  }
}
