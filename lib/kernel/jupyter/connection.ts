import {readFileSync} from "node:fs";
import {isIP} from "node:net";
import {InputError} from "../../result/error.ts";

export const CHANNELS = ["shell", "control", "stdin", "iopub", "hb"] as const;
export type Channel = (typeof CHANNELS)[number];

/** Where a front-end waits for the kernel, and the key that both sign with. */
export interface Connection {
  key: string;
  /** address of each channel, as ZeroMQ takes it */
  address: Record<Channel, string>;
}

/**
 * Reads the connection file that a front-end wrote.
 *
 * @throws {InputError} it cannot be read, lacks a port, has no key, another signature scheme, or an address that other
 * machines reach: whoever reaches a kernel can run anything
 */
export function readConnection(file: string): Connection {
  const wrong = (words: string, hint = "let a Jupyter front-end start the kernel") =>
    new InputError(2, {code: "connection", file, words, hint});
  let given: Record<string, unknown>;
  try {
    given = JSON.parse(readFileSync(file, "utf8"));
  } catch (error) {
    throw wrong(`the connection file cannot be read, ${error instanceof Error ? error.message : error}`);
  }
  const {key, transport = "tcp", ip = "127.0.0.1", signature_scheme: scheme = "hmac-sha256"} = given;
  if (typeof key !== "string" || key === "")
    throw wrong("the connection has no key, so anybody could run code");
  if (scheme !== "hmac-sha256")
    throw wrong(`the signature scheme is "${scheme}", but only hmac-sha256 is known`);
  if (transport !== "tcp" && transport !== "ipc")
    throw wrong(`the transport is "${transport}", but only tcp and ipc are known`);
  if (transport === "tcp" && !isLoopback(String(ip))) {
    throw wrong(`the address ${ip} can be reached from other machines`, "set ip to 127.0.0.1");
  }
  const address = {} as Record<Channel, string>;
  for (const channel of CHANNELS) {
    const port = given[`${channel}_port`];
    if (!Number.isInteger(port)) throw wrong(`${channel}_port is ${JSON.stringify(port)}, not a number`);
    address[channel] = transport === "tcp" ? `tcp://${urlHost(String(ip))}:${port}` : `ipc://${ip}-${port}`;
  }
  return {key, address};
}

function isLoopback(ip: string): boolean {
  return ip === "localhost" || ip === "::1" || (isIP(ip) === 4 && ip.startsWith("127."));
}

/** ZeroMQ binds to numbers, not to names. */
function urlHost(ip: string): string {
  return ip === "localhost" ? "127.0.0.1" : ip === "::1" ? "[::1]" : ip;
}
