/**
 * The self-test against emulated boards with a fault: each fault that it is there for makes it fail at its
 * own step, and outputs are off at the end, whatever ended it.
 */
import { describe, expect, it } from 'vitest';
import type { Board } from '../../../boards/emulator/board.js';
import { PLACE, type WatchdogPart } from '../../../boards/emulator/parts.js';
import * as selftest from '../../../host-sim/command/selftest.js';
import type { Fault } from '../../../host-sim/fault.js';
import { interrupted } from '../../../host-sim/interrupt.js';
import { TRIAL } from '../../../host-sim/link/messages.js';
import { recordingTerminal } from '../../../host-sim/terminal.js';
import { accountSector, ACCOUNT_OFFSET, HAS_CORE, NEEDS_IMAGE } from '../../boards/kit.js';
import {
  ENTER,
  NOW,
  SKIPPED_DRY,
  SKIPPED_INPUTS,
  START,
  UNPLUGGED,
  at,
  failed,
  run,
  titleOf,
} from './kit.js';

/** Up to the first trial that closes enable, and not an answer further. */
const UP_TO_ENABLE = [...START, ...SKIPPED_INPUTS, 'skip', UNPLUGGED, ENTER, ''].join('\n');

describe.skipIf(!HAS_CORE)(`selftest against a faulty emulated board${NEEDS_IMAGE}`, () => {
  it('a sensor out of its range and a broken wire fail; nothing is driven without the sentence', async () => {
    const spoil = ({ analogue }: Board) => {
      analogue.setCode('charge', 2000);
      analogue.setCode('ambient', 65535);
    };
    const answers = [
      ...START,
      'skip',
      'skip',
      'skip',
      'skip',
      'skip',
      'skip',
      'skip',
      'skip',
      'yes',
    ];
    const ran = await run(answers, spoil);
    expect(ran.code).toBe(1);
    expect(failed(ran)).toEqual([titleOf('rest', ', charge'), titleOf('rest', ', ambient')]);
    expect(ran.details.get(titleOf('rest', ', charge'))).toMatch(
      /^13\d.* degC; must be -20 to 60$/u,
    );
    expect(ran.details.get(titleOf('rest', ', ambient'))).toContain(', high; must be');
    expect(ran.verdicts.get(titleOf('ambient'))).toBe('not tried');
    expect(ran.verdicts.get(titleOf('supervisor'))).toBe('not tried');
    expect(ran.verdicts.get(titleOf('spray'))).toBe('not tried');
    expect(ran.board.pins.enableEdges).toBe(0);
    expect(ran.board.pins.changes.filter(({ name }) => name === 'pump')).toEqual([]);
  });

  it('exchanged sensors and crossed switches are told', async () => {
    // What warms the one is read by the other; the button closes the stage switch too.
    const exchange = ({ analogue, pins, mcu, files }: Board) => {
      const { volts } = analogue;
      [volts['charge'], volts['ambient']] = [volts['ambient'], volts['charge']];
      const gpio = files.pins.pins.find(({ name }) => name === 'button')?.gpio ?? NaN;
      pins.setSwitch('stage', !mcu.gpio[gpio].inputValue);
    };
    const answers = [
      ...START,
      'skip',
      'skip',
      ENTER,
      'skip',
      ENTER,
      'skip',
      'skip',
      'skip',
      'skip',
      'no',
    ];
    const ran = await run(answers, exchange);
    expect(failed(ran)).toEqual([titleOf('button'), titleOf('charge')]);
    expect(ran.details.get(titleOf('button'))).toBe('stage moved with it');
    expect(ran.details.get(titleOf('charge'))).toMatch(
      /ambient rose by .*: are the two exchanged\?$/u,
    );
  });

  it('a miscounted lamp, a live plug and a dead one fail', async () => {
    const dry = [UNPLUGGED, ENTER, '12.5', 'skip', 'skip', ENTER, '0', 'skip'];
    const answers = [...START, ...SKIPPED_INPUTS, ENTER, '3', ...dry];
    const ran = await run(answers);
    expect(failed(ran)).toEqual([titleOf('lamp'), titleOf('armOpens'), titleOf('enable')]);
  });

  it('a supervisor that does not trip and a watchdog that does not reset fail; outputs are off', async () => {
    const numb = (board: Board) => {
      const part = board.mcu.peripherals[PLACE.watchdog] as WatchdogPart;
      board.poke('on_piece_ms', 0);
      if (board.peek('trial_is_on') !== TRIAL.stall) return;
      // Its alarm would ring again at once, for ever.
      part.onWatchdogTrigger = () => (part.alarm.enable = false);
    };
    const ran = await run([...START, ...SKIPPED_INPUTS, 'skip', ...SKIPPED_DRY], numb);
    expect(failed(ran)).toEqual([titleOf('supervisor'), titleOf('watchdog')]);
    expect(ran.details.get(titleOf('supervisor'))).toMatch(/^not dropped in 1\d\.\d s/u);
    expect(ran.details.get(titleOf('watchdog'))).toBe('the chip was not reset');
    expect([ran.board.pins.levels['pump'], ran.board.pins.isEnableClosed]).toEqual([0, false]);
    expect(ran.verdicts.get(titleOf('ready'))).toBe('not tried');
  });

  it('a pump that is plugged in though it is said not to be never runs', async () => {
    const plugged = ({ circuit }: Board) => (circuit.fault = 'none');
    const dry = [UNPLUGGED, ENTER, 'skip', 'skip', 'skip', ENTER];
    let pumped = false;
    const onTick = (board: Board) => {
      plugged(board);
      pumped ||= board.circuit.isPumping;
    };
    const ran = await run([...START, ...SKIPPED_INPUTS, 'skip', ...dry], onTick);
    expect(failed(ran)).toContain(titleOf('armOpens'));
    expect(ran.details.get(titleOf('pump'))).toContain('the pump is plugged in');
    expect(pumped).toBe(false);
  });

  it('a leak that the person sees fails', async () => {
    const wet = ['water may spray', ENTER, ENTER, ENTER, ENTER, 'no'];
    const ran = await run([...START, ...SKIPPED_INPUTS, 'skip', 'no', ...wet]);
    expect(failed(ran)).toEqual([titleOf('mist')]);
    expect(ran.verdicts.get(titleOf('spray'))).toBe('pass');
    expect(ran.verdicts.get(titleOf('stop'))).toBe('pass');
  });

  it('a pump circuit kept as faulty is cleared by a person only, and stays so over power', async () => {
    const stuck = (board: Board) =>
      board.mcu.flash.set(accountSector(-1, 1013, true), ACCOUNT_OFFSET);
    const answers = [...START, ...SKIPPED_INPUTS, 'skip', 'no'];
    const ran = await run([...answers, 'the pump circuit is repaired', 'no'], undefined, stuck);
    expect(ran.verdicts.get(titleOf('cleared'))).toBe('pass');
    expect(ran.board.pins.enableEdges).toBe(0);
    ran.board.powerOn();
    ran.board.runMs(1000);
    expect(ran.board.peek('last_boot', 2)).toBe(0);
    const kept = await run([...answers, 'no', 'no'], undefined, stuck);
    expect(failed(kept)).toEqual([titleOf('cleared')]);
  });

  it('the plug pulled in a trial: a sentence, and outputs open', async () => {
    const terminal = recordingTerminal({}, UP_TO_ENABLE);
    let board: Board | undefined;
    const connect = at((made) => {
      board = made;
      made.onTickStart = () => {
        if (made.peek('trial_is_on') === TRIAL.enable) made.line.onByte = undefined;
      };
    });
    const work = selftest.handler({ port: 'emulator', out: undefined }, terminal, connect, NOW);
    const fault = await work.then(
      () => undefined,
      (error: unknown) => error as Fault,
    );
    expect(fault).toMatchObject({ exit: 4 });
    expect(terminal.stderr()).toContain('opens both outputs by itself within 0.3 s');
    expect(terminal.stdout()).toBe('');
    board?.runMs(400);
    expect(board?.pins.isEnableClosed).toBe(false);
  });

  it('Ctrl-C says that outputs open, and the device opens them without a word', async () => {
    const terminal = recordingTerminal({}, UP_TO_ENABLE);
    let said = '';
    const connect = at((made) => {
      made.onTickStart = () => {
        if (made.peek('trial_is_on') !== TRIAL.enable || said !== '') return;
        const before = terminal.stderr().length;
        interrupted();
        said = terminal.stderr().slice(before);
        made.cutPower();
      };
    });
    await selftest
      .handler({ port: 'emulator', out: undefined }, terminal, connect, NOW)
      .catch(() => 0);
    expect(said).toMatch(/^smirr: the self-test ends here; .* open the arm switch/su);
  });

  it('answers that end, or are none, end it with one sentence', async () => {
    for (const [answers, said] of [
      [[], 'standard input ended'],
      [[ENTER, 'a', 'b', 'c', 'd', 'e'], 'e is no answer'],
    ] as const) {
      const terminal = recordingTerminal({}, answers.map((line) => `${line}\n`).join(''));
      const work = selftest.handler(
        { port: 'emulator', out: undefined },
        terminal,
        at(() => undefined),
        NOW,
      );
      await expect(work).rejects.toMatchObject({ code: 'E-SELFTEST-01', exit: 3 });
      await work.catch((error: unknown) => expect((error as Fault).message).toContain(said));
    }
  });
});
