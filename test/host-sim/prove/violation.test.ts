/**
 * What is saved of a violation: the trace, and the settings where they are not those tested, show it in a
 * replay with the same broken core; where a replay does not, that is said. Compiled files are used.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Input } from '../../../controller/readings.js';
import { initialSettings } from '../../../controller/settings-check.js';
import {
  at,
  plan,
  POWER_ON,
  Tell,
  whyNotReplayable,
  type Plan,
} from '../../../host-sim/prove/plan.js';
import type { EvidenceReport } from '../../../host-sim/prove/report.js';
import type * as TallyModule from '../../../host-sim/prove/tally.js';
import { replayHint, settingsPathOf } from '../../../host-sim/prove/trace.js';
import type * as TryOut from '../../../host-sim/prove/try-out.js';
import type * as ViolationModule from '../../../host-sim/prove/violation.js';
import { parseSettings } from '../../../host-sim/settings/parse.js';
import { smirr } from '../smirr.js';
import { brokenProgram, brokenSubject, sabotageOf } from './broken.js';
import { compiled } from './compiled.js';

let folder = '';
let tryOut: typeof TryOut;
let tallies: typeof TallyModule;
let violations: typeof ViolationModule;
beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'smirr-violation-'));
  tryOut = await compiled('host-sim/prove/try-out.js');
  tallies = await compiled('host-sim/prove/tally.js');
  violations = await compiled('host-sim/prove/violation.js');
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const tested = initialSettings();

/** What edges find in a broken core first, made small. */
async function smallest(name: string): Promise<ViolationModule.Smallest> {
  const subject = await brokenSubject(path.join(folder, name), sabotageOf(name));
  const tally = new tallies.Tally();
  const pace = { progress: () => undefined, isOver: () => tally.violations.length > 0 };
  const players = tryOut.playersOf(subject);
  tryOut.tryEdges(players, tested, tally, pace);
  return violations.smallestOf(tally.violations[0], { subject, players, tested });
}

describe('what is saved of a violation', () => {
  it('has no settings where they are those tested', async () => {
    const { shown, settings } = await smallest('disarmed waits one tick longer');
    expect(settings).toBeUndefined();
    expect(shown).toMatchObject({ changedSettings: {}, replayable: true });
  });

  it.each([
    ['a late tick is one millisecond later', 'a tick comes late or early'],
    ['a pump that is stuck on does not latch', 'the core is told something from outside'],
    // Nothing in the plan speaks against it: only a replay that was tried says so.
    ['an input is late one tick later', 'a trace does not say all that the core was given'],
  ])('says why no replay shows it: %s', async (name, why) => {
    const { shown } = await smallest(name);
    expect(shown.replayable).toBe(false);
    expect(shown.whyNotReplayable).toContain(why);
  });

  it('still breaks the property where a clock went back', async () => {
    const { shown, plan: small, player } = await smallest('a clock that stands still is believed');
    const violation = player.play(small);
    expect(violation).toBeDefined();
    expect(player.obligations.properties[violation!.property].id).toBe(shown.property);
  });
});

describe('plans that no trace can say', () => {
  it.each<[Partial<Plan>, string]>([
    [{ breakpoints: at(1000, { gap: 60 }) }, 'a tick comes late or early'],
    [{ breakpoints: at(1000, { tell: Tell.Fail }) }, 'the core is told something from outside'],
    [{ breakpoints: at(1000, { maintenance: 1 }) }, 'the maintenance strap is closed'],
    [{ shared: Input.Charge }, 'inputs are read in turn, as no trace says'],
    [{ tankUl: -1, boot: POWER_ON }, 'the stored estimate cannot be true'],
    [{ tankUl: tested.tankUl + 1, boot: POWER_ON }, 'the stored estimate cannot be true'],
    [{ boot: { ...POWER_ON, powerOn: false } }, 'it begins with a boot that is no plain power-on'],
    [{ breakpoints: at(1000, { arm: 0 }), boot: POWER_ON }, ''],
  ])('%j', (more, why) => {
    const tried = plan('', tested, 2000, [], more);
    expect(whyNotReplayable(tried)).toBe(why);
  });
});

describe('smirr prove with a broken core', () => {
  it('saves what its replay needs, and says how', { timeout: 120_000 }, async () => {
    const place = path.join(folder, 'program');
    const cli = brokenProgram(place, sabotageOf('the shortest spray is forgotten'));
    const run = (...args: string[]) =>
      spawnSync(process.execPath, [cli, ...args], { encoding: 'utf8', cwd: folder });
    const proved = run('prove', '--quick', '--json');
    expect(proved.status, proved.stderr).toBe(1);
    const [shown] = (JSON.parse(proved.stdout) as EvidenceReport).violations;
    expect(shown).toMatchObject({
      ...{ property: 'shortest spray', replayable: true, changedSettings: { demandHold: '0 s' } },
    });
    const command = 'replay violation.csv --settings violation.settings.yaml --check';
    expect(proved.stderr).toContain('in violation.settings.yaml (demandHold 0 s)');
    expect(proved.stderr).toContain(`smirr: smirr ${command}\n`);
    const saved = readFileSync(path.join(folder, 'violation.settings.yaml'), 'utf8');
    expect(parseSettings(saved, 'it').settings).toEqual({ ...tested, demandHoldMs: 0 });

    const replayed = run(...command.split(' '));
    expect(replayed.stdout).toMatch(/violated at [\d.]+ s: shortest spray\./u);
    expect(replayed.status).toBe(1);
    // The settings are what it takes, and the core that is shipped does not do it.
    expect(run('replay', 'violation.csv', '--check').status).toBe(0);
    const [trace, settings] = ['violation.csv', 'violation.settings.yaml'].map((file) =>
      path.join(folder, file),
    );
    expect((await smirr('replay', trace, '--settings', settings, '--check')).exit).toBe(0);
    expect(readdirSync(folder).filter((file) => file.startsWith('.'))).toEqual([]);
  });

  it('writes paths as a shell takes them', () => {
    expect(settingsPathOf('a b/it.CSV')).toBe('a b/it.settings.yaml');
    expect(settingsPathOf('it')).toBe('it.settings.yaml');
    const begun = plan('', tested, 20, [], { tankUl: 1_234_567 });
    expect(replayHint("a b/it's.csv", begun, undefined)).toBe(
      `smirr replay 'a b/it'\\''s.csv' --tank 1.234567L --check`,
    );
  });
});
