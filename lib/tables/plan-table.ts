import {type Table, table} from "../figures/table.ts";
import type {Session} from "../result/session.ts";
import {fromSI} from "../units/unit.ts";

/** The order in which the arms were driven, one row a run, with what the session notes of each. */
export function planTable(session: Session): Table {
  const {plan} = session;
  const order = plan
    ? `Planned order: ${plan.order}${plan.seed === null ? "" : `, drawn with seed ${plan.seed}`}${plan.locked ? ", locked before the runs" : ""}.`
    : "The session holds no plan: as far as it tells, the order was not drawn by lot.";
  return table({
    id: "plan",
    caption: `The runs in the order driven. ${order}`,
    columns: [
      {title: "run", align: "right"},
      {title: "arm"},
      {title: "block", align: "right"},
      {title: "direction"},
      {title: "at"},
      {title: "air", unit: "°C", align: "right"},
      {title: "log"},
      {title: "left out because"},
    ],
    rows: session.runs.map(run => {
      const {airTemperatureK} = run.conditions;
      return [
        run.run,
        run.arm,
        run.block,
        run.direction,
        run.at,
        airTemperatureK === null ? null : Number(fromSI(airTemperatureK, "degC").toFixed(1)),
        run.file,
        run.exclude,
      ];
    }),
  });
}

/** The worthwhile difference as the session states it: "0.15 s", "2 % of the baseline mean". */
export function worthwhileWords({worthwhile}: Session): string {
  return worthwhile.unit === "%"
    ? `${worthwhile.value} % of the baseline mean`
    : `${worthwhile.value} ${worthwhile.unit}`;
}
