import {delimitedText} from "./delimited.ts";
import {gpx} from "./gpx.ts";
import {mdf} from "./mdf.ts";
import {nmea} from "./nmea.ts";
import {parquet} from "./parquet.ts";
import type {LogReader} from "./reader.ts";

/** Every format that is read. A new one is a module that exports a `LogReader`, and its line here. */
export const READERS: readonly LogReader[] = [delimitedText, gpx, mdf, nmea, parquet];
