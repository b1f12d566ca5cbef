import {findChannel} from "../log/channel.ts";
import {InputError} from "../result/error.ts";
import type {Channel, Log} from "../result/log.ts";

/**
 * The channel of a quantity that only helps: null where the log has none, none with a value, several that may be it, or none
 * with a known unit. What cannot go without it uses `requireChannel`, which says which of these it is.
 */
export function usableChannel(log: Log, name: string): Channel | null {
  try {
    const channel = findChannel(log, name);
    return channel && channel.valid > 0 ? channel : null;
  } catch (error) {
    if (error instanceof InputError) return null;
    throw error;
  }
}
