/**
 * Every bit of every number that the settings were compiled to, from compiled files: changed in a spray and
 * for good, it ends in core-fault within a minute, and from then on both outputs stay off. (`prove` changes
 * one bit of each number at many moments.)
 */
import { expect, it } from 'vitest';
import type * as SettingsCheck from '../../../controller/settings-check.js';
import { Cutoff } from '../../../controller/tick/5-cutoffs.js';
import type * as PlanModule from '../../../host-sim/prove/plan.js';
import type * as PlayerModule from '../../../host-sim/prove/player.js';
import type * as SubjectModule from '../../../host-sim/prove/subject.js';
import { compiled } from './compiled.js';

const { SHIPPED } = await compiled<typeof SubjectModule>('host-sim/prove/subject.js');
const { Player } = await compiled<typeof PlayerModule>('host-sim/prove/player.js');
const { plan, FULL } = await compiled<typeof PlanModule>('host-sim/prove/plan.js');
const { initialSettings } = await compiled<typeof SettingsCheck>('controller/settings-check.js');

const MINUTE_TICKS = 3000;

type Values = Record<string | number, number>;

it('every bit of every number ends in core-fault', () => {
  const settings = initialSettings();
  const player = new Player(SHIPPED, { settings, fitted: FULL, levelKind: 0 });
  player.play(plan('', settings, 1000, []));
  const { core } = player;
  const [moment, momentMs] = [SHIPPED.snapshot(core.state), player.nextMs];
  const isFound = () => (core.state.cutoffs.active & Cutoff.CoreFault) !== 0;
  const missed: string[] = [];
  let tried = 0;
  const tryBit = (record: Values, name: string | number, bit: number) => {
    SHIPPED.restore(core.state, moment);
    player.nextMs = momentMs;
    const sound = record[name];
    record[name] = sound ^ (1 << bit);
    for (let tick = 0; tick < MINUTE_TICKS && !isFound(); tick++) player.tickOnly();
    let on = 0;
    for (let tick = 0; tick < 50; tick++) {
      player.tickOnly();
      on |= core.state.output.pump | core.state.output.enable;
    }
    if (!isFound() || on !== 0) missed.push(`${name} ${bit}`);
    record[name] = sound;
    tried++;
  };
  for (const { record, names, values } of core.ruleCopy.groups) {
    // Limits are frozen, and cannot be changed here.
    if (Object.isFrozen(record)) continue;
    values.forEach((value, index) => {
      if (typeof value !== 'number') return;
      const name = names === undefined ? index : names[index];
      for (let bit = 0; bit < 32; bit++) tryBit(record as Values, name, bit);
    });
  }
  expect(missed).toEqual([]);
  expect(tried).toBeGreaterThan(6000);
});
