import {createRequire} from "node:module";
import type {Channel, Connection} from "./connection.ts";

/** Frames of one message. */
export type Frames = readonly (Buffer | string)[];

/** The five sockets of a kernel. */
export interface Sockets {
  send(channel: Channel, frames: Frames): void;
  /** Closes them; resolved when the last call into ZeroMQ has come back. */
  close(): Promise<void>;
}

/** What is used of a ZeroMQ socket. */
interface Socket extends AsyncIterable<Buffer[]> {
  bind(address: string): Promise<void>;
  send(frames: Frames): Promise<void>;
  close(): void;
  sendHighWaterMark: number;
  linger: number;
}

const KIND = {shell: "Router", control: "Router", stdin: "Router", iopub: "Publisher", hb: "Reply"} as const;

/** How long messages that are on their way are still delivered after closing [ms]. */
const LINGER_MS = 1000;

/**
 * Binds the sockets over ZeroMQ and answers heartbeats.
 *
 * @throws {Error} an address is taken; the message is ZeroMQ's
 */
export async function openSockets(
  {address}: Connection,
  onFrames: (channel: "shell" | "control", frames: Buffer[]) => void,
): Promise<Sockets> {
  // Loaded here, so that whoever only wants the types need not have the library.
  const zmq = createRequire(import.meta.url)("zeromq") as Record<string, new () => Socket>;
  const sockets = {} as Record<Channel, Socket>;
  const turns = {} as Record<Channel, Promise<void>>;
  for (const [channel, kind] of Object.entries(KIND) as [Channel, string][]) {
    const socket = new zmq[kind]!();
    socket.sendHighWaterMark = 0; // a slow front-end gets everything later, rather than a part now
    socket.linger = LINGER_MS;
    sockets[channel] = socket;
    turns[channel] = Promise.resolve();
  }
  await Promise.all((Object.keys(KIND) as Channel[]).map(channel => sockets[channel].bind(address[channel])));
  const listen = async (channel: Channel, act: (frames: Buffer[]) => void) => {
    for await (const frames of sockets[channel]) act(frames);
  };
  const send = (channel: Channel, frames: Frames) => {
    const sent = turns[channel].then(() => sockets[channel].send(frames)); // a socket sends one message at a time
    turns[channel] = sent.catch(() => {}); // the front-end went away, or the kernel is closing
  };
  const listening = [
    listen("shell", frames => onFrames("shell", frames)),
    listen("control", frames => onFrames("control", frames)),
    listen("hb", frames => send("hb", frames)),
  ];
  return {
    send,
    async close() {
      for (const socket of Object.values(sockets)) socket.close();
      await Promise.allSettled([...listening, ...Object.values(turns)]);
    },
  };
}
