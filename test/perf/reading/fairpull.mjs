// @ts-nocheck: only `npm run bench` has what this imports
import {readLog} from "../../../lib/dist/log/read.js";
import {timed} from "./timed.mjs";

await timed(file => readLog(file).channels.map(({values}) => values));
