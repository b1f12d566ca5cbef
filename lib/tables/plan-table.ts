import {type Table, table} from "../figures/table.ts";
import type {Session, SessionRun} from "../result/session.ts";
import {fromSI} from "../units/unit.ts";

/** The order in which the arms were driven, one row a run, with what the session notes of each. */
export function planTable(session: Session): Table {
  const {plan} = session;
  const order = plan
    ? `Planned order: ${plan.order}${plan.seed === null ? "" : `, drawn with seed ${plan.seed}`}${plan.locked ? ", locked before the runs" : ""}.`
    : "The session holds no plan: as far as it tells, the order was not drawn by lot.";
  const columns: {
    title: string;
    unit?: string;
    right?: boolean;
    cell: (run: SessionRun) => string | number | null;
  }[] = [
    {title: "run", right: true, cell: run => run.run},
    {title: "arm", cell: run => run.arm},
    {title: "block", right: true, cell: run => run.block},
    {title: "direction", cell: run => run.direction},
    {title: "at", cell: run => run.at},
    {title: "air", unit: "°C", right: true, cell: run => airCelsius(run)},
    {title: "log", cell: run => run.file},
    {title: "left out because", cell: run => run.exclude},
  ];
  // A column that is empty in every run says nothing.
  const filled = columns.filter(column => session.runs.some(run => column.cell(run) !== null));
  return table({
    id: "plan",
    caption: `The runs in the order driven. ${order}`,
    columns: filled.map(({title, unit, right}) => ({
      title,
      ...(unit && {unit}),
      ...(right && {align: "right"}),
    })),
    rows: session.runs.map(run => filled.map(column => column.cell(run))),
  });
}

function airCelsius({conditions}: SessionRun): string | null {
  const {airTemperatureK} = conditions;
  return airTemperatureK === null ? null : fromSI(airTemperatureK, "degC").toFixed(1);
}

/** The worthwhile difference as the session states it: "0.15 s", "2 % of the baseline mean". */
export function worthwhileWords({worthwhile}: Session): string {
  return worthwhile.unit === "%"
    ? `${worthwhile.value} % of the baseline mean`
    : `${worthwhile.value} ${worthwhile.unit}`;
}
