/**
 * How large the core's state is and how long its self-check of the rules takes, counted on a core
 * with every input fitted. Gives Markdown for controller/README.md.
 */
import { calibrationForReadings } from '../../controller/calibration.js';
import { create, STATE_FIELDS, tick, type Core } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { Input, makeReadings } from '../../controller/readings.js';
import { initialSettings } from '../../controller/settings-check.js';
import { fieldNames } from '../../controller/snapshot.js';
import { markdownTable } from './render.js';

function makeCore(): Core {
  return create(initialSettings(), calibrationForReadings(Input.All), LIMITS);
}

/** How many integers each record of the state has. */
export function stateTable(): string {
  const names = fieldNames(makeCore().state);
  const rows = STATE_FIELDS.map(([record, fields]) => {
    const count = names.filter((name) => name.startsWith(`${record}.`)).length;
    return [`\`${record}\``, String(Object.keys(fields).length), String(count)];
  });
  return markdownTable(
    ['record', 'fields', 'integers'],
    [...rows, ['in all', '', String(names.length)]],
  );
}

/** How many compiled numbers the self-check compares, and how long one round of them takes. */
export function selfCheckSentence(): string {
  const core = makeCore();
  const { count } = core.ruleCopy;
  const seconds = Math.ceil((ticksOfOneRound(core) * LIMITS.tickMs) / 1000);
  return `With every input fitted, ${count} compiled numbers are compared in turn: each once in ${seconds} s.`;
}

/** Counted, not computed: how often that is belongs to the self-check alone. */
function ticksOfOneRound(core: Core): number {
  const readings = makeReadings();
  const self = core.state.self;
  let ticks = 0;
  let hasBegun = false;
  while (!hasBegun || self.ruleGroup !== 0 || self.ruleIndex !== 0) {
    hasBegun ||= self.ruleIndex !== 0;
    readings.nowMs += LIMITS.tickMs;
    tick(core, readings);
    ticks += 1;
  }
  return ticks;
}
