/**
 * Every command of the link against the emulated board, end to end, as a user would call it; and what is
 * said when there is no such port, nothing answers, another device or version does, or the plug is pulled in
 * the middle. Times are those of the emulated board.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Board } from '../../../boards/emulator/board.js';
import { cobsEncode } from '../../../controller/link/cobs.js';
import { crc16Arc, crc16Ibm3740 } from '../../../controller/link/crc16.js';
import { encodeFrame } from '../../../controller/link/frame.js';
import { run } from '../../../host-sim/command-line.js';
import * as fingerprint from '../../../host-sim/command/fingerprint.js';
import * as inject from '../../../host-sim/command/inject.js';
import * as recall from '../../../host-sim/command/recall.js';
import * as settings from '../../../host-sim/command/settings.js';
import * as watch from '../../../host-sim/command/watch.js';
import { Fault } from '../../../host-sim/fault.js';
import { greet, type Connect } from '../../../host-sim/link/device.js';
import { openEmulator, type EmulatorOptions } from '../../../host-sim/link/emulator.js';
import type { LinkPort } from '../../../host-sim/link/port.js';
import { recordingTerminal, type RecordingTerminal } from '../../../host-sim/terminal.js';
import { HAS_CORE, NEEDS_IMAGE } from '../../boards/kit.js';

const LONG_MS = 300_000;

async function smirr(args: readonly string[], input = '') {
  let terminal: RecordingTerminal | undefined;
  const code = await run(args, (manner) => (terminal = recordingTerminal(manner, input)));
  return { code, stdout: terminal?.stdout() ?? '', stderr: terminal?.stderr() ?? '' };
}

/** A connection to an emulated board that the test has its hands on. */
function emulated(
  options: EmulatorOptions,
  onBoard: (board: Board, port: LinkPort) => void,
): Connect {
  return async (name, terminal, usual) => {
    let board: Board | undefined;
    const all = { ...usual, ...options, onBoard: (made: Board) => (board = made) };
    const port = await openEmulator(name, terminal, all);
    const device = await greet(port);
    if (board) onBoard(board, port);
    return device;
  };
}

async function faultOf(work: Promise<unknown>): Promise<Fault> {
  const error: unknown = await work.then(
    () => undefined,
    (thrown: unknown) => thrown,
  );
  if (error instanceof Fault) return error;
  throw new Error(`no fault was thrown but ${String(error)}`);
}

let folder: string;
beforeAll(() => void (folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-link-'))));
afterAll(() => rmSync(folder, { recursive: true }));

describe.skipIf(!HAS_CORE)(`commands against the emulated board${NEEDS_IMAGE}`, () => {
  it(
    'watch: readings with health, mode, reason, cutoffs, duty, tank, lamp, rates',
    async () => {
      const { code, stdout } = await smirr(['watch', '--port', 'emulator', '--for', '2s']);
      expect(code).toBe(0);
      const lines = stdout.trimEnd().split('\n');
      expect(lines.length).toBeGreaterThanOrEqual(3);
      expect(lines.at(-1)).toMatch(
        /^\d+\.\d+ s \| rpm 0 1\/min \| boost .* hPa \| charge .* degC \|.*disarmed \| stage \| off \|.*cutoffs .*engine-stopped.*duty .* % \| tank .* L.*lamp .*50\.0 ticks\/s/u,
      );
    },
    LONG_MS,
  );

  it(
    'watch --json: one object a line',
    async () => {
      const args = ['watch', '--port', 'emulator', '--for', '400ms', '--every', '200ms', '--json'];
      const { stdout } = await smirr(args);
      const looks = stdout
        .trimEnd()
        .split('\n')
        .map((line) => JSON.parse(line) as { mode: string });
      expect(looks.length).toBeGreaterThanOrEqual(2);
      expect(looks[0]).toMatchObject({ armed: false, pump: false, mode: 'stage' });
    },
    LONG_MS,
  );

  it(
    'settings: what was sent is received, from one command to the next',
    async () => {
      const port = `emulator:${path.join(folder, 'flash.bin')}`;
      const file = path.join(folder, 'car.yaml');
      const back = path.join(folder, 'back.yaml');
      writeFileSync(file, 'kind: smirr-settings\nversion: 1\nrpmOn: 3100 rpm\n');
      const sent = await smirr(['settings', 'send', file, '--port', port]);
      expect(sent).toMatchObject({ code: 0, stderr: '' });
      expect(sent.stdout).toContain('read back, the same, and in use');
      expect(sent.stdout).toMatch(/rpmOn: 2500 rpm -> 3100 rpm\nsettings 2\n/u);
      const received = await smirr(['settings', 'receive', '--port', port, '-o', back]);
      expect(received.code).toBe(0);
      expect(readFileSync(back, 'utf8')).toMatch(/^rpmOn: 3100 rpm$/mu);
      const again = await smirr(['settings', 'send', back, '--port', port, '--json']);
      expect(JSON.parse(again.stdout)).toMatchObject({ changes: [], sequence: 2 });
      const print = await smirr(['fingerprint', '--port', port]);
      expect(print.code).toBe(1);
      expect(print.stdout).toContain('rpmOn is 3100 rpm there, 2500 rpm in the pack');
      const same = await smirr(['fingerprint', '--port', port, '--settings', file]);
      expect(same.code).toBe(0);
    },
    LONG_MS,
  );

  it(
    'fingerprint: the pack it was made of, and that this is no proof',
    async () => {
      const { code, stdout } = await smirr(['fingerprint', '--port', 'emulator']);
      expect(code).toBe(0);
      expect(stdout).toMatch(/says it carries this pack\n {2}image {8}same\n {2}bundle {7}same/u);
      expect(stdout).toMatch(/fingerprint {2}(\S+); of the pack \1\n/u);
      expect(stdout).toContain('no proof');
      expect(stdout).toContain('smirr pack --verify');
    },
    LONG_MS,
  );

  it(
    'fingerprint: another image is told',
    async () => {
      const connect = emulated({}, (board) => (board.mcu.flash[0x40000] ^= 1));
      const terminal = recordingTerminal();
      const options = {
        port: 'emulator',
        board: 'pico',
        settings: undefined,
        calibration: undefined,
      };
      expect(await fingerprint.handler(options as never, terminal, connect)).toBe(1);
      expect(terminal.stdout()).toMatch(/image {8}SHA-256 .* there, .* in the pack/u);
    },
    LONG_MS,
  );

  it(
    'inject: the same decisions and the same state',
    async () => {
      const args = ['inject', 'demo:hot', '--port', 'emulator', '--for', '2s', '--json'];
      const { code, stdout } = await smirr(args);
      expect(code).toBe(0);
      const result = JSON.parse(stdout) as Record<string, number>;
      expect(result).toMatchObject({ same: true, ticks: 400, firstDifference: null });
      expect(result['compared']).toBeGreaterThanOrEqual(400);
    },
    LONG_MS,
  );

  it(
    'settings: a file without a flow leaves the flow that was measured',
    async () => {
      const port = `emulator:${path.join(folder, 'kept.bin')}`;
      const measured = path.join(folder, 'measured.yaml');
      const file = path.join(folder, 'without.yaml');
      writeFileSync(measured, 'kind: smirr-settings\nversion: 1\nflow: 5.5 ml/s\n');
      writeFileSync(file, 'kind: smirr-settings\nversion: 1\nrpmOn: 3300 rpm\n');
      await smirr(['settings', 'send', measured, '--port', port]);
      const sent = await smirr(['settings', 'send', file, '--port', port]);
      expect(sent.stdout).toContain('rpmOn: 2500 rpm -> 3300 rpm');
      expect(sent.stdout).not.toContain('flow:');
      const { stdout } = await smirr(['settings', 'receive', '--port', port]);
      expect(stdout).toMatch(/^flow: 5\.5 ml\/s$/mu);
      expect(stdout).toMatch(/^rpmOn: 3300 rpm$/mu);
    },
    LONG_MS,
  );

  it(
    'inject: a trace in which it sprays, with the outputs allowed by the typed sentence',
    async () => {
      const trace = path.join(folder, 'hot.csv');
      const row = (ms: number) => `${ms / 1000},4000,900,60,20,1,1`;
      const rows = Array.from({ length: 131 }, (_, at) => row(100 * at));
      const head = 'time [s],rpm,boost [hPa],charge [degC],ambient [degC],armed,stage';
      writeFileSync(trace, [head, ...rows, ''].join('\n'));
      let pumped = 0;
      let made: Board | undefined;
      const connect = emulated({}, (board) => {
        made = board;
        board.onTickEnd = () => void (pumped += board.pins.levels['pump'] ?? 0);
      });
      const call = { trace, port: 'emulator', for: undefined };
      const typed = recordingTerminal({ json: true }, `${inject.CONFIRMATION}\n`);
      expect(await inject.handler({ ...call, outputs: true }, typed, connect)).toBe(0);
      expect(typed.stderr()).toContain('the pump will run');
      const allowed = JSON.parse(typed.stdout()) as Record<string, number>;
      expect(allowed).toMatchObject({ same: true, outputs: true });
      expect(allowed['pumpTicks']).toBeGreaterThan(100);
      // The pump of the board ran as decided, less the ticks that ended before its pin was looked at.
      expect(pumped).toBeGreaterThan(allowed['pumpTicks'] - 5);
      expect(made?.pins.levels['pump']).toBe(0);
      pumped = 0;
      const quiet = recordingTerminal({ json: true });
      expect(await inject.handler({ ...call, outputs: undefined }, quiet, connect)).toBe(0);
      expect((JSON.parse(quiet.stdout()) as typeof allowed)['pumpTicks']).toBeGreaterThan(100);
      expect(pumped).toBe(0);
    },
    LONG_MS,
  );

  it(
    'a core of another smirr is told, whatever was asked',
    async () => {
      const connect: Connect = async (...args) => {
        const device = await emulated({}, () => undefined)(...args);
        return { ...device, hello: { ...device.hello, layoutHash: 0x1234 } };
      };
      const options = { port: 'emulator', every: undefined, for: undefined };
      const fault = await faultOf(watch.handler(options, recordingTerminal(), connect));
      expect(fault).toMatchObject({ code: 'E-LINK-05', exit: 4 });
      expect(fault.message).toMatch(
        /^the controller on emulator carries the core of another smirr \(layout 0x00001234, here 0x[0-9a-f]{8}\)/u,
      );
      const call = { port: 'emulator', flash: undefined, run: undefined, out: undefined };
      const again = await faultOf(
        recall.handler({ ...call, replay: true }, recordingTerminal(), connect),
      );
      expect(again.code).toBe('E-LINK-05');
    },
    LONG_MS,
  );

  it(
    'inject: a state that was changed on the chip is found, with the fields',
    async () => {
      const terminal = recordingTerminal();
      const connect = emulated({}, (board) => {
        // From some tick on the chip's core gets another code than was sent.
        let ticks = 0;
        board.onTickStart = () => {
          if (++ticks > 200) board.poke('last_codes', board.peek('last_codes', 9) + 900, 9);
        };
      });
      const options = { trace: 'demo:hot', port: 'emulator', for: '1s', outputs: undefined };
      expect(await inject.handler(options, terminal, connect)).toBe(1);
      expect(terminal.stdout()).toMatch(/the first difference is in tick \d+: both decided/u);
      expect(terminal.stdout()).toMatch(
        /\n {2}codes\.chargeDc\[\d\] is -?\d+ there and -?\d+ here/u,
      );
    },
    LONG_MS,
  );

  it(
    'inject: a tach pulse ends it, with a sentence',
    async () => {
      const connect = emulated({}, (board) => {
        let ticks = 0;
        board.onTickEnd = () => {
          if (++ticks === 250) board.pins.drive('tach', 1);
        };
      });
      const options = { trace: 'demo:hot', port: 'emulator', for: '3s', outputs: undefined };
      const fault = await faultOf(inject.handler(options, recordingTerminal(), connect));
      expect(fault).toMatchObject({ code: 'E-LINK-07', exit: 4 });
      expect(fault.message).toMatch(
        /^the injection ended after \d+ of 450 ticks because a real tach pulse came/u,
      );
    },
    LONG_MS,
  );

  it(
    'inject: not without the strap, and no outputs without the typed sentence',
    async () => {
      const options = { trace: 'demo:hot', port: 'emulator', for: '1s', outputs: undefined };
      const open = emulated({ isBench: false }, () => undefined);
      const fault = await faultOf(inject.handler(options, recordingTerminal(), open));
      expect(fault.message).toContain('the bench strap was not closed');
      const typed = await smirr(['inject', 'demo:hot', '--port', 'emulator', '--outputs'], 'yes\n');
      expect(typed).toMatchObject({ code: 2 });
      expect(typed.stderr).toContain('--outputs needs "the pump may run" typed');
    },
    LONG_MS,
  );

  it.each([
    { why: 'the lock strap is closed', options: { isLocked: true } },
    { why: 'armed; open the arm switch', options: { scene: () => ({ arm: 1 }) } },
  ])(
    'settings send: refused while $why',
    async ({ why, options }) => {
      const file = path.join(folder, 'other.yaml');
      writeFileSync(file, 'kind: smirr-settings\nversion: 1\nrpmOn: 3200 rpm\n');
      const call = { action: 'send', file, out: undefined, port: 'emulator' } as const;
      const connect = emulated(options, () => undefined);
      const fault = await faultOf(settings.handler(call, recordingTerminal(), connect));
      expect(fault).toMatchObject({ code: 'E-LINK-06', exit: 4 });
      expect(fault.message).toContain(why);
    },
    LONG_MS,
  );

  it(
    'the plug pulled in the middle: a sentence, no hang',
    async () => {
      const connect = emulated({}, (board) => {
        board.onTickEnd = () => {
          if (board.ticks > 120) board.cutPower();
        };
      });
      const options = { port: 'emulator', every: undefined, for: undefined };
      const fault = await faultOf(watch.handler(options, recordingTerminal(), connect));
      expect(fault).toMatchObject({ code: 'E-LINK-03', exit: 4 });
      expect(fault.message).toContain('the connection to emulator is lost');
    },
    LONG_MS,
  );

  it(
    'a line that falls silent: the heartbeat notices',
    async () => {
      const connect = emulated({}, (board) => {
        board.onTickEnd = () => {
          if (board.ticks === 120) board.line.onByte = undefined;
        };
      });
      const options = { port: 'emulator', every: '10s', for: undefined };
      const fault = await faultOf(watch.handler(options, recordingTerminal(), connect));
      expect(fault.message).toContain('is silent since 4 s');
    },
    LONG_MS,
  );
});

/** A port on which a script answers: what `reply` gives for each write. Time passes as fast as it can. */
function scripted(reply: () => readonly number[]): LinkPort {
  const timers: { atMs: number; then: () => void }[] = [];
  let nowMs = 0;
  let isOpen = true;
  const turn = () => {
    timers.sort((a, b) => a.atMs - b.atMs);
    const next = timers.shift();
    if (!isOpen || next === undefined) return;
    nowMs = next.atMs;
    next.then();
    setImmediate(turn);
  };
  setImmediate(turn);
  const port: LinkPort = {
    name: 'COM7',
    onBytes: () => undefined,
    onGone: () => undefined,
    write: () => {
      const bytes = reply();
      if (bytes.length > 0) setImmediate(() => port.onBytes(Uint8Array.from(bytes)));
    },
    after: (ms, then) => {
      const timer = { atMs: nowMs + ms, then };
      timers.push(timer);
      return () => void timers.splice(timers.indexOf(timer) >>> 0, 1);
    },
    close: () => {
      isOpen = false;
      return Promise.resolve();
    },
  };
  return port;
}

/** A hello's frame of another version of the link. */
function ofVersion(version: number): number[] {
  const plain = [version, 0x81, 1, 1, 0];
  const [first, second] = [crc16Ibm3740(plain, 5), crc16Arc(plain, 5)];
  plain.push(first & 255, first >> 8, second & 255, second >> 8);
  return [0, ...cobsEncode(plain), 0];
}

describe('what is said when a port has no controller', () => {
  let sequence = 0;
  beforeAll(() => void (sequence = 0));
  const nextSequence = () => ++sequence;

  it.each([
    { what: 'nothing', reply: () => [], code: 'E-LINK-04', said: 'nothing answers on COM7' },
    {
      what: 'text',
      reply: () => Array.from(Buffer.from('$GPGGA,,,*00\r\n')),
      code: 'E-LINK-04',
      said: 'is another device: it sends no frames of ours',
    },
    {
      what: 'frames without our mark',
      reply: () => encodeFrame(0x81, nextSequence(), [0, 1, 2, 3, 4]),
      code: 'E-LINK-04',
      said: 'another device than a smirr controller',
    },
    {
      what: 'another version',
      reply: () => ofVersion(2),
      code: 'E-LINK-05',
      said: 'speaks another version of the link than 1',
    },
  ])('$what', async ({ reply, code, said }) => {
    const fault = await faultOf(greet(scripted(reply)));
    expect(fault).toMatchObject({ code, exit: 4 });
    expect(fault.message).toContain(said);
  });

  it('no such port, and no serial port at all', async () => {
    const none = await smirr(['watch', '--port', '/dev/ttyNone7']);
    expect(none).toMatchObject({ code: 4, stdout: '' });
    expect(none.stderr).toMatch(/^smirr: there is no port \/dev\/ttyNone7; .*\[E-LINK-01\]\n$/u);
    const file = await smirr(['watch', '--port', '/dev/null', '--json']);
    expect(file.code).toBe(4);
    expect(JSON.parse(file.stderr)).toMatchObject({
      code: expect.stringMatching(/^E-LINK-0[12]$/u) as string,
    });
  });
});
