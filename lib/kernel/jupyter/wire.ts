import {createHmac, randomUUID, timingSafeEqual} from "node:crypto";

/** Header of a message of the Jupyter protocol; what else a front-end puts in is kept, since replies repeat it. */
export interface Header {
  msg_id: string;
  msg_type: string;
  session: string;
  username: string;
  date: string;
  version: string;
}

/** A request as it arrived. */
export interface Request {
  /** routing frames, which the reply repeats */
  identities: Buffer[];
  header: Header;
  content: Record<string, unknown>;
}

/** Version of the protocol that the kernel speaks. */
export const PROTOCOL_VERSION = "5.3";

const DELIMITER = "<IDS|MSG>";

/**
 * Reads a message.
 *
 * @throws {Error} the frames are no message, or its signature does not belong to the key; the words say which
 */
export function readMessage(frames: readonly Buffer[], key: string): Request {
  const at = frames.findIndex(frame => frame.equals(Buffer.from(DELIMITER)));
  if (at < 0 || frames.length < at + 6) {
    throw new Error(`a message of ${frames.length} frames is none of the Jupyter protocol`);
  }
  const parts = frames.slice(at + 2, at + 6);
  const given = Buffer.from(frames[at + 1]!.toString("latin1"), "hex");
  const right = signature(parts, key);
  if (given.length !== right.length || !timingSafeEqual(given, right)) {
    throw new Error("a message carries a signature that does not belong to the connection's key");
  }
  const [header, , , content] = parts.map(part => JSON.parse(part.toString()) as unknown);
  if (!isHeader(header)) throw new Error("a message's header has no id or no type");
  return {identities: frames.slice(0, at), header, content: isRecord(content) ? content : {}};
}

/** The frames of a message, signed. `topic` are the routing frames of a reply or the topic of a broadcast. */
export function writeMessage(
  {type, content, parent, session}: {type: string; content: object; parent: Header | null; session: string},
  topic: readonly (Buffer | string)[],
  key: string,
): (Buffer | string)[] {
  const header: Header = {
    msg_id: randomUUID(),
    msg_type: type,
    session,
    username: "kernel",
    date: new Date().toISOString(),
    version: PROTOCOL_VERSION,
  };
  const parts = [header, parent ?? {}, {}, content].map(part => Buffer.from(JSON.stringify(part)));
  return [...topic, DELIMITER, signature(parts, key).toString("hex"), ...parts];
}

function signature(parts: readonly Buffer[], key: string): Buffer {
  const hmac = createHmac("sha256", key);
  for (const part of parts) hmac.update(part);
  return hmac.digest();
}

function isHeader(value: unknown): value is Header {
  return isRecord(value) && typeof value["msg_id"] === "string" && typeof value["msg_type"] === "string";
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}
