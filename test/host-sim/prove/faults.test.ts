/**
 * Way 3 of `prove`, from compiled files: every pair of kinds really comes; recorded runs are walked with
 * little memory and counted; and what only this way judges can be found broken: bits of the state and of
 * the compiled settings that nobody notices, a snapshot that goes on otherwise, an input whose loss makes
 * it spray more.
 */
import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type * as CoreModule from '../../../controller/core.js';
import type * as SettingsCheck from '../../../controller/settings-check.js';
import type * as AmountModule from '../../../host-sim/prove/amount.js';
import type * as KindsModule from '../../../host-sim/prove/fault-kinds.js';
import type { FaultAmount } from '../../../host-sim/prove/fault-counts.js';
import type * as FaultsModule from '../../../host-sim/prove/faults.js';
import type * as GivenModule from '../../../host-sim/prove/given.js';
import type * as PairsModule from '../../../host-sim/prove/pairs.js';
import type * as PlayerModule from '../../../host-sim/prove/player.js';
import type * as RunsModule from '../../../host-sim/prove/runs.js';
import type * as SubjectModule from '../../../host-sim/prove/subject.js';
import type * as TallyModule from '../../../host-sim/prove/tally.js';
import type * as TryOut from '../../../host-sim/prove/try-out.js';
import type { Terminal } from '../../../host-sim/terminal.js';
import { smirr } from '../smirr.js';
import { compiled } from './compiled.js';

const SPARSE = { everyTicks: 2000, traceEveryTicks: 100, stickyTicks: 250, both: true };
const NO_PAIRS = { points: 1, rounds: 0 };
/** Four seconds of a pull with two rows a second, invented. */
const CSV = [
  'time (s),engine speed (rpm),boost (kPa),charge temperature (degC)',
  ...Array.from({ length: 9 }, (_, at) => `${at / 2},${4000 + 10 * at},80,${60 + at / 10}`),
  '',
].join('\n');

let folder = '';
let settings: ReturnType<typeof SettingsCheck.initialSettings>;
let shipped: SubjectModule.Subject;
let faults: typeof FaultsModule;
let kinds: readonly KindsModule.FaultKind[];
let pairs: typeof PairsModule;
let runs: typeof RunsModule;
let tallies: typeof TallyModule;
let tryOut: typeof TryOut;
let players: typeof PlayerModule;
beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'smirr-faults-'));
  const check = await compiled<typeof SettingsCheck>('controller/settings-check.js');
  settings = check.initialSettings();
  ({ SHIPPED: shipped } = await compiled<typeof SubjectModule>('host-sim/prove/subject.js'));
  faults = await compiled('host-sim/prove/faults.js');
  ({ FAULT_KINDS: kinds } = await compiled<typeof KindsModule>('host-sim/prove/fault-kinds.js'));
  pairs = await compiled('host-sim/prove/pairs.js');
  runs = await compiled('host-sim/prove/runs.js');
  tallies = await compiled('host-sim/prove/tally.js');
  tryOut = await compiled('host-sim/prove/try-out.js');
  players = await compiled('host-sim/prove/player.js');
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Way 3 over a core, up to the first violation. */
function tryFaults(
  change: Partial<SubjectModule.Subject> = {},
  amount: FaultAmount = { ...SPARSE, pairs: NO_PAIRS },
  traces: readonly RunsModule.GivenTrace[] = [],
) {
  const subject = { ...shipped, ...change };
  const tally = new tallies.Tally();
  const pace = { progress: () => undefined, isOver: () => tally.violations.length > 0 };
  const task = { subject, players: tryOut.playersOf(subject), settings, traces, amount, seed: 3 };
  const counts = faults.tryFaults({ ...task, tally, pace });
  return { counts, first: tally.violations[0] };
}

async function givenOf(file: string): Promise<RunsModule.GivenTrace[]> {
  const given = await compiled<typeof GivenModule>('host-sim/prove/given.js');
  const terminal = { progress: () => undefined } as unknown as Terminal;
  return given.readGiven([file], {}, terminal);
}

describe('pairs of kinds', () => {
  it('come each once at a thousand different points, in the order in which a run meets them', () => {
    const points = pairs.dealPairs(kinds, [9000, 500, 4000], { points: 1000, rounds: 1 }, 1);
    const names = points.flatMap((point) => point.pairs.map((pair) => pair.map((k) => k.name)));
    expect(new Set(names.map(String)).size).toBe((kinds.length * (kinds.length - 1)) / 2);
    expect(names).toHaveLength((kinds.length * (kinds.length - 1)) / 2);
    const places = points.map(({ run, tick }) => run * 1e6 + tick);
    expect(new Set(places).size).toBe(1000);
    expect([...places].sort((a, b) => a - b)).toEqual(places);
    expect(Math.min(...points.map(({ tick }) => tick))).toBeGreaterThan(0);
  });

  it('come in the quick look and in the full run: every pair', async () => {
    const { QUICK, amountOf } = await compiled<typeof AmountModule>('host-sim/prove/amount.js');
    for (const amount of [QUICK, amountOf(0.01), amountOf(1)]) {
      expect(amount.faults.pairs.points).toBe(1000);
      expect(amount.faults.pairs.rounds).toBeGreaterThanOrEqual(1);
    }
    expect(amountOf(1).faults.everyTicks).toBe(1);
    expect(amountOf(1).faults.traceEveryTicks * 20).toBe(500);
  });

  it('lie elsewhere for another seed, and in the same places for the same', () => {
    const deal = (seed: number) =>
      pairs.dealPairs(kinds, [5000], { points: 20, rounds: 0.1 }, seed);
    expect(deal(1)).toEqual(deal(1));
    expect(deal(1).map(({ tick }) => tick)).not.toEqual(deal(2).map(({ tick }) => tick));
  });
});

describe('a recorded run', () => {
  it('is walked through a window that holds no more than 90 s of it, whatever its length', () => {
    const [hot] = runs.demoRuns(settings);
    const window = new runs.RunWindow(hot, new players.Player(shipped, hot.car));
    const plain = hot.pass();
    let differ = 0;
    for (let tick = 0; tick < hot.ticks; tick++) {
      window.readings(tick + runs.AHEAD_TICKS);
      const { rpm, chargeDc, fresh } = plain.next().value!;
      const seen = window.readings(tick);
      if (seen.rpm !== rpm || seen.chargeDc !== chargeDc || seen.fresh !== fresh) differ++;
    }
    expect(hot.ticks).toBeGreaterThan(1.5 * runs.AHEAD_TICKS);
    expect(differ).toBe(0);
    const { slots } = window as unknown as { slots: unknown[] };
    expect(slots.length).toBeLessThanOrEqual(runs.AHEAD_TICKS + 2);
  });

  it('gets its own points and kinds: only of inputs that it has', async () => {
    const file = path.join(folder, 'pull.csv');
    writeFileSync(file, CSV);
    const traces = await givenOf(file);
    const { sha256 } = traces[0];
    expect(sha256).toBe(createHash('sha256').update(CSV).digest('hex'));
    const amount = { ...SPARSE, everyTicks: 100_000, pairs: NO_PAIRS };
    const { counts, first } = tryFaults({}, amount, traces);
    expect(first).toBeUndefined();
    // 4 s are 201 ticks; two points; rpm, boost, charge and supply have seven kinds each; supply dips.
    const perPoint = 2 * (4 * 7 + 1 + 4);
    expect(counts.traces).toEqual([
      { name: 'pull.csv', ticks: 201, points: 2, branches: 2 * perPoint },
    ]);
    expect(counts.points).toBe(0);
  });
});

describe('bits that change', () => {
  it('are found in the shipped core: of the state at once, of the compiled settings within a minute', () => {
    const { counts, first } = tryFaults();
    expect(first).toBeUndefined();
    expect(counts.flips).toBe(counts.points);
    expect(counts.settingFlips).toBe(2 * counts.points);
    expect(counts.found + counts.putBack).toBe(counts.settingFlips);
    expect(counts.found).toBeGreaterThanOrEqual(counts.points);
    expect(counts.foundMsMax).toBeLessThanOrEqual(60_000);
    // Every kind at every point, once and for good.
    expect(counts.branches).toBe(2 * kinds.length * counts.points);
    expect(counts.takenAway).toBe(4 * 8 * counts.points);
  });

  it('are missed by a core that compares no rule with its copy, and that is told', () => {
    const create: SubjectModule.Subject['create'] = (...given) => {
      const core = shipped.create(...given);
      const groups = [{ record: { one: 1 }, names: ['one'], values: [1] }];
      const changed: CoreModule.Core = { ...core, ruleCopy: { groups, count: 1 } };
      return changed;
    };
    const { first } = tryFaults({ create });
    expect(first).toMatchObject({ property: 'core-fault' });
    expect(first.sentence).toMatch(/A bit of (rules|limits)\..* changed and the core went on/u);
  });

  it('are missed by a core that seals its state only when it looks, and that is told', () => {
    const tick: SubjectModule.Subject['tick'] = (core, readings) => {
      const { burst, cutoffs, account, self } = core.state;
      self.seal = shipped.sealOf(burst, cutoffs, account);
      shipped.tick(core, readings);
    };
    const { first } = tryFaults({ tick });
    expect(first).toMatchObject({ property: 'core-fault' });
    expect(first.sentence).toContain('A bit of the state, ');
  });

  it('of the settings record decide in a core that reads it in its ticks, and that is told', () => {
    const tick: SubjectModule.Subject['tick'] = (core, readings) => {
      // Any change of any setting is enough.
      const sum = Object.values(core.settings).reduce((all: number, value) => (all + value) | 0, 0);
      core.state.account.apartMs = Math.abs(sum) % 1000;
      shipped.tick(core, readings);
    };
    expect(tryFaults({ tick }).first.sentence).toMatch(/A bit of settings\..* decided otherwise/u);
  });
});

describe('what one run cannot show', () => {
  it('a core that remembers beside its state does not go on as the run did', () => {
    let ticks = 0;
    const tick: SubjectModule.Subject['tick'] = (core, readings) => {
      if (++ticks % 1009 > 990 && ticks % 2 === 0) readings.arm = 0;
      shipped.tick(core, readings);
    };
    expect(tryFaults({ tick }).first).toMatchObject({ property: 'a snapshot goes on' });
  });

  it('a core that sprays only without its humidity sprays more when that is taken away', () => {
    const tick: SubjectModule.Subject['tick'] = (core, readings) => {
      const isThere = (readings.fresh & 16) !== 0 && ((readings.faults >> 12) & 7) === 0;
      if (isThere && readings.humidityPm >= 0 && readings.humidityPm <= 1000) readings.stage = 0;
      shipped.tick(core, readings);
    };
    const { first } = tryFaults({ tick }, { ...SPARSE, everyTicks: 300, pairs: NO_PAIRS });
    expect(first).toMatchObject({ property: 'an input taken away' });
    expect(first.plan.name).toContain('humidity');
  });
});

describe('smirr prove TRACE...', () => {
  it.each([
    [['demo:hot'], 2, 'demo:hot is tried in any case'],
    [['--tank', '1L'], 2, '--tank goes with recorded runs, and none is named'],
    [['none.csv'], 3, 'none.csv is not there'],
    [['-', '--settings', '-'], 2, 'standard input (-) can be read only once'],
  ])('refuses %j', async (args, code, sentence) => {
    const { exit, out, err } = await smirr('prove', '--quick', ...args);
    expect({ exit, out }).toEqual({ exit: code, out: '' });
    expect(err).toContain(sentence);
  });

  it('says in one sentence that a recording has no charge', async () => {
    const file = path.join(folder, 'dry.csv');
    writeFileSync(file, 'time (s),engine speed (rpm),boost (kPa)\n0,4000,80\n1,4000,80\n');
    const { exit, err } = await smirr('prove', '--quick', file);
    expect(exit).toBe(3);
    expect(err).toContain('E-TRACE-06');
  });
});
