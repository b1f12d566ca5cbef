import type {PlanDocument} from "../result/plan-document.ts";
import {textTable} from "./output.ts";

const digits = (value: number | null, unit = "") =>
  value === null ? "–" : `${Number(value.toPrecision(2))}${unit}`;

/** What `plan` prints for people. */
export function planText(document: PlanDocument): string {
  const {question, plan, choices, spread, power, budget, cautions, seal, sheet, written, session} = document;
  const parts: string[] = [];
  if (question !== null) parts.push(`${question}\n`);
  if (choices.length > 0 && spread && power) {
    parts.push(
      textTable(
        ["order", "runs", "orders by lot", "smallest p", `shows with ${digits(100 * power.chance)} %`, ""],
        choices.map(choice => [
          choice.order,
          String(choice.runs),
          choice.orders === null ? "–" : String(choice.orders),
          digits(choice.floor),
          digits(choice.shows, ` ${spread.unit}`),
          choice.problem ?? "",
        ]),
        [1, 2, 3, 4],
      ),
    );
    parts.push(
      `spread of single runs: ${digits(spread.value)} ${spread.unit} (${spread.source})\n${power.words}\n`,
    );
  }
  parts.push(cautions.map(caution => `note: ${caution}\n`).join(""));
  if (budget.length > 0) {
    parts.push(
      textTable(
        ["what it costs", "", "", "by"],
        budget.map(({what, value, unit, source}) => [
          what,
          String(Number(value.toPrecision(3))),
          unit,
          source,
        ]),
        [1],
      ),
    );
  }
  if (plan) {
    const order = plan.schedule.map(
      ({arm, direction}) => `${arm}${plan.ways === "both" ? ` ${direction}` : ""}`,
    );
    parts.push(
      `order (${plan.order}, seed ${plan.seed}, ${plan.changes} changes of part): ${order.join(", ")}\n`,
      `${written ? `written into ${session} and locked` : `locked before, unchanged`}: ${plan.locked}\n`,
    );
  }
  if (seal) {
    parts.push(
      `labels sealed, commitment ${seal.commitment}\n${seal.key === null ? "" : `${seal.key} is for the helper alone: keep it until judge --open, nobody can make it again\n`}`,
    );
  }
  if (sheet !== null) parts.push(`run sheet: ${sheet}\n`);
  if (plan) parts.push(`next: drive, then fairpull gather FOLDER -o ${session}\n`);
  return parts.filter(part => part !== "").join("\n");
}
