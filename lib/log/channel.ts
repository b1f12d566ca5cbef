import {InputError} from "../result/error.ts";
import type {Channel, Log} from "../result/log.ts";
import {findUnit} from "../units/unit.ts";
import {columnOption} from "./declared.ts";
import {quantityNamed} from "./vocabulary.ts";

/** The one channel of a quantity, or null where the log has none. @throws {InputError} as `requireChannel` */
export function findChannel(log: Log, name: string): Channel | null {
  const named = log.channels.filter(channel => channel.name === name);
  const filled = named.filter(channel => channel.valid > 0);
  const found = filled.length > 0 ? filled : named.slice(0, 1); // an empty column says nothing beside a filled one
  if (found.length === 0) return null;
  if (found.length > 1) {
    const names = found.map(channel => `"${channel.column}"`);
    throw new InputError(1, {
      code: "ambiguous-column",
      words: `the columns ${names.join(" and ")} are equally likely to be the ${name}`,
      file: log.file,
      column: found[0].column,
      hint: `settle it with ${found.map(channel => columnOption(name, optionText(log, channel))).join(" or ")}`,
    });
  }
  const [channel] = found;
  requireUnit(log, name, channel);
  return channel;
}

/**
 * The one channel of a quantity, in SI.
 *
 * @param name our word for the quantity, such as "speed"
 * @throws {InputError} 1: no column, several equally likely ones, no unit anywhere, an unknown unit; the hint has the option
 *   that settles it
 */
export function requireChannel(log: Log, name: string): Channel {
  const channel = findChannel(log, name);
  if (channel && channel.valid > 0) return channel;
  const columns = log.channels.slice(0, 12).map(other => `"${other.column}"`);
  throw new InputError(1, {
    code: "no-channel",
    words: channel ? `the column of ${name} has no value in any row` : `no column is recognised as ${name}`,
    file: log.file,
    column: channel?.column,
    hint: `name it, ${columnOption(name, "…")}; the columns are ${columns.join(", ")}${log.channels.length > 12 ? " …" : ""}`,
  });
}

function requireUnit(log: Log, name: string, channel: Channel): void {
  const dimension = quantityNamed(name)?.dimension;
  if (dimension === undefined || dimension === "none") return;
  if (channel.valueUnit !== null && findUnit(channel.valueUnit)?.dimension === dimension) return;
  const {column, unit} = channel;
  const example = dimension === "speed" ? "km/h" : "UNIT";
  throw new InputError(1, {
    code: unit === null ? "no-unit" : "unknown-unit",
    words:
      unit === null
        ? `the file gives no unit for the ${name}`
        : `the unit "${unit}" is not known as one of ${name}`,
    file: log.file,
    column,
    hint: `give it behind a colon, ${columnOption(name, `${optionText(log, channel)}:${example}`)}`,
  });
}

/** Name of a column for the option, or its number where several share the name. */
function optionText(log: Log, channel: Channel): string {
  const sharing = log.channels.filter(other => other.column === channel.column);
  return sharing.length === 1 ? channel.column : String(log.channels.indexOf(channel) + 1);
}
