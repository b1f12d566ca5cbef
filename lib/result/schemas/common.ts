import {z} from "zod";
import type {ErrorWords} from "../error.ts";
import type {Flag, Unread} from "../log.ts";

/** What a comparison can come to. */
export const verdictStateSchema = z.enum([
  "shown-better",
  "shown-worse",
  "shown-different",
  "no-worthwhile-difference",
  "not-settled",
  "not-a-fair-test",
  "too-few-runs",
]);

/** Doubts about a pass or a log. */
export const flagSchema = z.enum([
  "gap",
  "coarse-time",
  "coarse-speed",
  "held-samples",
  "implausible-acceleration",
  "frozen-speed",
  "zero-speed",
  "poor-fix",
  "derived-speed",
  "receiver-smoothing",
  "sensor-default",
  "wheel-speed-mismatch",
]) satisfies z.ZodType<Flag>;

/** What of a log was not read. */
export const unreadSchema = z.strictObject({
  rows: z.array(z.strictObject({reason: z.string(), count: z.int().min(1), first_line: z.int().min(1)})),
  columns: z.array(z.strictObject({name: z.string(), reason: z.string()})),
}) satisfies z.ZodType<Unread>;

/** Why a command could not answer. */
export const errorWordsSchema = z.strictObject({
  code: z.string(),
  words: z.string(),
  file: z.string().optional(),
  line: z.int().min(1).optional(),
  column: z.union([z.int().min(1), z.string()]).optional(),
  run: z.int().min(1).optional(),
  hint: z.string().optional(),
}) satisfies z.ZodType<ErrorWords>;

/** An interval estimate. */
export const intervalSchema = z.strictObject({
  low: z.number(),
  high: z.number(),
  level: z.number().min(0).max(1),
  method: z.string(),
});
