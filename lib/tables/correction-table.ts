import {type Table, table} from "../figures/table.ts";
import type {CorrectionRecord, JudgeDocument} from "../result/documents.ts";
import {signed} from "./words.ts";

/**
 * Raw and corrected band time of every run side by side, with what each cause took out or added; the last row is the
 * difference changed − baseline. The caption tells the uncertainty that both arms share apart from that of single runs.
 *
 * @returns null where the result holds no correction
 */
export function correctionTable({correction}: Pick<JudgeDocument, "correction">): Table | null {
  if (!correction) return null;
  const {runs, difference, budget, reference} = correction;
  const causes = (row: CorrectionRecord["difference"]) =>
    [row.grade_s, row.wind_s, row.air_s, row.mass_s].map(value => signed(value, 3));
  return table({
    id: "correction",
    caption:
      `Band times as driven and brought to reference conditions (${reference}). Uncertainty of the correction of the difference: ` +
      `${budget.shared_u_s.toFixed(3)} s shared by both arms, ${budget.run_by_run_u_s.toFixed(3)} s from run to run (standard uncertainties).`,
    columns: [
      {title: "run"},
      ...["raw", "corrected", "grade", "wind", "air", "mass"].map(title => ({
        title,
        unit: "s",
        align: "right" as const,
      })),
    ],
    rows: [
      ...runs.map(row => [String(row.run), row.raw_s.toFixed(3), row.corrected_s.toFixed(3), ...causes(row)]),
      [
        "changed − baseline",
        signed(difference.raw_s, 3),
        signed(difference.corrected_s, 3),
        ...causes(difference),
      ],
    ],
  });
}
