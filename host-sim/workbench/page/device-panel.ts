/**
 * A trace that was recorded from a controller: what it did against what the host's core makes of the
 * same readings, and the readings as a file.
 */
import { clock, percent } from '../../report/format.js';
import { comparedRows } from '../../report/page.js';
import type { Run } from '../../replay/run.js';
import { agreementOf } from '../agreement.js';
import { traceCsv } from '../live-csv.js';
import { button, byId, element, saveFile, table } from './dom.js';
import { moveMark } from './gestures.js';
import type { Model } from './model.js';

/** Keeps the section in step with the runs. */
export function showDevice(model: Model): void {
  model.on(['runs', 'traces'], () => {
    const device = model.current?.device;
    const { a } = model.runs;
    byId('device').hidden = device === undefined || a === undefined;
    if (device !== undefined && a !== undefined) {
      byId('device-body').replaceChildren(...comparison(model, device, a));
    }
  });
}

function comparison(model: Model, device: Run, host: Run): HTMLElement[] {
  const { share, first } = agreementOf(device, host);
  const sentence =
    `Controller and host core gave the same reason for ${percent(share)} of the time` +
    (first === undefined
      ? '.'
      : `; they first differ at ${clock(first.atMs, 2)}: the controller ${first.device}, the host ${first.host}.`);
  const csv = button('Save the readings as CSV', () => {
    saveFile('recorded.csv', 'text/csv', traceCsv(host.trace));
  });
  const go =
    first === undefined
      ? []
      : [button('Go there', () => moveMark(model, first.atMs), { id: 'device-difference' })];
  return [
    element('p', { id: 'device-say' }, sentence),
    element('p', { class: 'small' }, BEGINNING),
    element('p', { class: 'row' }, ...go, csv),
    table(
      'side by side',
      [
        { head: 'compared' },
        { head: 'controller', number: true },
        { head: 'host core', number: true },
        { head: 'host less controller', number: true },
      ],
      comparedRows(device, host).map((row) => [
        row.what,
        row.text(row.a),
        row.text(row.b),
        row.difference(row.b - row.a),
      ]),
    ),
  ];
}

const BEGINNING =
  'The host core begins with the water that there was, but rested, with an empty duty window and its water ' +
  'for standstill unused; the controller goes on from where it was, so the two meet after a minute of ' +
  'driving. Looks come some times a second. "Compare what it recorded" compares every tick.';
