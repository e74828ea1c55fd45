/**
 * The exhaustive search: its input classes are classes (two inputs of one lead to the same decisions), a
 * normal form goes on as the state did, and a core with a fault is found with the way to it.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LevelKind } from '../../../controller/calibration.js';
import { initialSettings } from '../../../controller/settings-check.js';
import { Explorer } from '../../../host-sim/prove/exhaustive.js';
import { Player } from '../../../host-sim/prove/player.js';
import {
  alphabetOf,
  SCALED_CONTRACT,
  SCALED_LIMITS,
  scaledSettings,
  viewsFor,
} from '../../../host-sim/prove/scaled.js';
import { SHIPPED, type Subject } from '../../../host-sim/prove/subject.js';

const SETTINGS = initialSettings();
const VIEWS = viewsFor(SETTINGS);
const PACE = { progress: () => undefined, isOver: () => false };

function scaledPlayer(): Player {
  const car = { settings: scaledSettings(SETTINGS), fitted: 511, levelKind: LevelKind.Switch };
  return new Player(SHIPPED, car, SCALED_LIMITS, SCALED_CONTRACT);
}

describe.each(VIEWS)('view $name', (view) => {
  it('has classes whose inputs lead to the same decisions', () => {
    const alphabet = alphabetOf(view);
    const [one, other] = [scaledPlayer(), scaledPlayer()];
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(alphabet.length - 1), fc.nat(6)), { maxLength: 30 }),
        (steps) => {
          for (const player of [one, other]) player.start({ tankUl: SETTINGS.tankUl });
          for (const [index, times] of steps) {
            const { readings, alike, feedback } = alphabet[index];
            for (let count = 0; count <= times; count++) {
              Object.assign(one.readings, one.goodReadings, readings);
              Object.assign(other.readings, other.goodReadings, alike);
              for (const player of [one, other]) {
                player.feedback = feedback ?? -1;
                player.tickOnly();
              }
              const seen = [one, other].map(({ core: { state } }) => [
                ...[
                  state.output.pump,
                  state.output.enable,
                  state.output.reason,
                  state.cutoffs.active,
                ],
              ]);
              expect(seen[0]).toEqual(seen[1]);
            }
          }
        },
      ),
      { numRuns: 40 },
    );
  });

  it('finds nothing in the shipped core, and comes back to spraying from every state', () => {
    const explorer = new Explorer(SHIPPED, view, SETTINGS);
    const result = explorer.explore(250, PACE);
    expect(explorer.violation).toBeUndefined();
    expect(result.isComplete).toBe(false);
    expect(result.states).toBeGreaterThanOrEqual(250);
    expect(result.recovered).toBeGreaterThan(0);
    expect(result.recoveryMsMax).toBeLessThanOrEqual(2500);
  });
});

describe('the view of the level alone', () => {
  it('is small enough to be looked at whole: no new state is left, and it comes back from all', () => {
    const view = VIEWS.find(({ name }) => name === 'level alone')!;
    const explorer = new Explorer(SHIPPED, view, SETTINGS);
    const result = explorer.explore(4000, PACE);
    expect(explorer.violation).toBeUndefined();
    expect(result.isComplete).toBe(true);
    expect(result.states).toBeGreaterThan(1000);
    expect(result.transitions).toBe(2 * result.states);
    expect(result.recovered).toBe(result.states);
  });
});

describe('settings that forbid a kind of spray', () => {
  it('forbid none in the small scope, where it must come back to spraying', () => {
    const forbidding = { ...SETTINGS, automaticAllowed: 0, manualAllowed: 0 };
    const [view] = viewsFor(forbidding);
    const explorer = new Explorer(SHIPPED, view, forbidding);
    const { states, recovered } = explorer.explore(40, PACE);
    expect(explorer.violation).toBeUndefined();
    expect(states).toBeGreaterThan(20);
    expect(recovered).toBeGreaterThan(0);
  });
});

describe('a fault', () => {
  it('is found with the way to it', () => {
    const tick: Subject['tick'] = (core, readings) => {
      const { arm } = readings;
      readings.arm = 1;
      SHIPPED.tick(core, readings);
      readings.arm = arm;
    };
    const explorer = new Explorer({ ...SHIPPED, tick }, VIEWS[0], SETTINGS);
    explorer.explore(3000, PACE);
    expect(explorer.violation?.property).toBe('disarmed');
    expect(explorer.violation?.letters.at(-1)?.name).toContain('arm open');
  });

  it('is found where the core never comes back', () => {
    const tick: Subject['tick'] = (core, readings) => {
      const { arm } = readings;
      if (core.state.cutoffs.latched !== 0) readings.arm = 0;
      SHIPPED.tick(core, readings);
      readings.arm = arm;
      core.state.cutoffs.latched |= arm === 0 ? 1 << 22 : 0;
    };
    const explorer = new Explorer({ ...SHIPPED, tick }, VIEWS[0], SETTINGS);
    explorer.explore(300, PACE);
    expect(explorer.violation?.property).toBe('recovery');
  });
});
