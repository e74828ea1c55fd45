/**
 * The groups and values of the car file as a table, from host-sim/car/layout.ts.
 */
import { formatCarRange, formatCarValue } from '../car/format.js';
import { CAR_GROUPS, CAR_GROUP_NAMES, rowsOf } from '../car/layout.js';
import { markdownTable } from './render.js';

/** A row for each group and one for each of its values. */
export function carTable(): string {
  const rows = CAR_GROUP_NAMES.flatMap((group) => [
    [`\`${group}\``, '', '', CAR_GROUPS[group].what, ''],
    ...rowsOf(group).map(([, row]) => [
      `\`${group}.${row.name}\``,
      formatCarValue(row, row.standard),
      formatCarRange(row),
      row.what,
      row.source,
    ]),
  ]);
  return markdownTable(['name', 'built in', 'range', 'what it is', 'where from'], rows);
}
