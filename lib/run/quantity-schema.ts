import {z} from "zod";
import type {UnitError} from "../units/error.ts";
import {parseQuantity} from "../units/quantity.ts";
import type {Dimension} from "../units/table.ts";
import {siSymbol} from "../units/unit.ts";

/** A quantity with a unit of the given dimension, as text; SI and the unit after reading. */
export function quantity(dimension: Dimension) {
  return z
    .union([z.string(), z.number()], {
      error: issue => (issue.input === undefined ? "is missing" : "must be a number with its unit"),
    })
    .transform((written, context) => {
      if (typeof written === "number") {
        context.addIssue({
          code: "custom",
          message: `${written} has no unit; write for example "${written} ${siSymbol(dimension)}"`,
        });
        return z.NEVER;
      }
      try {
        const {si, unit} = parseQuantity(written, {dimension});
        return {si, unit};
      } catch (error) {
        const {message, hint} = error as UnitError;
        context.addIssue({code: "custom", message: hint ? `${message}; ${hint}` : message});
        return z.NEVER;
      }
    });
}

/** Optional, and above zero. */
export function above(schema: ReturnType<typeof quantity>, key: string) {
  return schema.refine(({si}) => si > 0, {error: `${key} must be above 0`}).optional();
}

/** A text that says something; a draft leaves it empty. */
export const text = z
  .string({error: issue => (issue.input === null ? "is left to fill in" : undefined)})
  .trim()
  .min(1, "is left to fill in");
