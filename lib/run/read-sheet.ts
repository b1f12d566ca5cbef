import {z} from "zod";
import {InputError} from "../result/error.ts";
import type {RunSheet} from "../result/run-sheet.ts";

/** A sheet of 120 runs filled to the brim is below 1 MB. */
const MAX_CHARACTERS = 2_000_000;

const cell = z.string().max(300);
const sheetSchema = z.strictObject({
  format: z.literal("fairpull.sheet/1"),
  locked: z.string().regex(/^sha256:[0-9a-f]{64}$/),
  saves: z.int().min(1),
  saved: z.iso.datetime(),
  day: z.string().max(2000),
  ticked: z.array(z.string().max(500)).max(50),
  rows: z
    .array(
      z.strictObject({
        run: z.int().min(1).nullable(),
        arm: z.string().max(20).nullable(),
        direction: z.enum(["out", "back"]),
        driven: z.boolean(),
        isVoid: z.boolean(),
        cells: z.strictObject({
          start: cell.optional(),
          air: cell.optional(),
          intake: cell.optional(),
          coolant: cell.optional(),
          fuel: cell.optional(),
          tyresCold: cell.optional(),
          tyresHot: cell.optional(),
          wind: cell.optional(),
          traffic: cell.optional(),
          guess: cell.optional(),
          remarks: cell.optional(),
        }),
      }),
    )
    .min(1)
    .max(200),
}) satisfies z.ZodType<RunSheet>;

/**
 * Reads the file that a run sheet saves.
 *
 * @param file name for messages
 * @throws {InputError} exit code 2: it is no such file
 */
export function readSheet(text: string, file: string): RunSheet {
  const refuse = (words: string): never => {
    throw new InputError(2, {
      code: "sheet-unreadable",
      file,
      words: `it is no file saved by a run sheet: ${words}`,
      hint: "give the file that the sheet's save button made",
    });
  };
  if (text.length > MAX_CHARACTERS) refuse(`${text.length} characters`);
  let read: unknown;
  try {
    read = JSON.parse(text);
  } catch {
    refuse("it is not JSON");
  }
  const parsed = sheetSchema.safeParse(read);
  if (parsed.success) return {...parsed.data, rows: parsed.data.rows.map(withoutBlanks)};
  const {path, message} = parsed.error.issues[0];
  return refuse(`${path.join(".") || "the whole"}: ${message.charAt(0).toLowerCase()}${message.slice(1)}`);
}

/** A cell that holds nothing but blanks was not filled in. */
function withoutBlanks(row: RunSheet["rows"][number]): RunSheet["rows"][number] {
  const filled = Object.entries(row.cells).filter(([, text]) => text.trim() !== "");
  return {...row, cells: Object.fromEntries(filled)};
}
