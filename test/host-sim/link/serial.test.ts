/**
 * The real serial path: the command opens one end of a pair of pseudo-terminals as it would a serial
 * adapter, an emulated board is on the other. Also how ports are listed where udevadm is missing.
 */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { connect, readCarried, withDevice } from '../../../host-sim/link/device.js';
import { openSerial, openingFault, type LinkPort } from '../../../host-sim/link/port.js';
import { listPorts, probePorts } from '../../../host-sim/link/ports.js';
import { initialSettings } from '../../../controller/settings-check.js';
import { recordingTerminal } from '../../../host-sim/terminal.js';
import { boardWith, coreBundle, feed, HAS_CORE, NEEDS_IMAGE } from '../../boards/kit.js';
import { HAS_PTY, makePtyPair, NEEDS_PTY, type PtyPair } from './pty.js';

const TITLE = `a board behind a serial port${NEEDS_IMAGE}${NEEDS_PTY}`;

describe.skipIf(!HAS_CORE || !HAS_PTY)(TITLE, () => {
  let pair: PtyPair;
  let far: LinkPort;
  let isRunning = true;

  beforeEach(async () => {
    pair = await makePtyPair();
    far = await openSerial(pair.right);
    const board = boardWith(coreBundle());
    feed(board, { arm: 0, rpm: 0 });
    board.powerOn();
    board.runTicks(2);
    const said: number[] = [];
    board.line.onByte = (byte) => said.push(byte);
    far.onBytes = (bytes) => board.sayBytes(bytes);
    isRunning = true;
    const turn = () => {
      if (!isRunning) return;
      board.runMs(2);
      if (said.length > 0) far.write(said.splice(0));
      setImmediate(turn);
    };
    turn();
  });

  afterEach(async () => {
    isRunning = false;
    await far.close();
    pair.cut();
  });

  it('answers, and its settings are read', async () => {
    const device = await connect(pair.left, recordingTerminal());
    const { settings } = await withDevice(device, readCarried);
    expect(device.hello.board).toBe('pico');
    expect(settings).toEqual(initialSettings());
  });

  it('is found among the ports', async () => {
    const [found] = await probePorts([{ path: pair.left, maker: undefined }]);
    expect(found).toMatchObject({
      isController: true,
      answers: 'smirr controller, board pico, settings 1',
    });
  });

  it('a port in use by another is told', async () => {
    const device = await connect(pair.left, recordingTerminal());
    await withDevice(device, async () => {
      const second = await openSerial(pair.left).then(
        () => undefined,
        (error: unknown) => error,
      );
      expect(second).toMatchObject({
        code: 'E-LINK-02',
        message: expect.stringMatching(/is in use by another program$/u) as string,
      });
    });
  });

  it('the plug pulled in the middle', async () => {
    const device = await connect(pair.left, recordingTerminal());
    const ended = device.client.wait(60_000).then(
      () => undefined,
      (error: unknown) => error,
    );
    isRunning = false;
    await far.close();
    pair.cut();
    expect(await ended).toMatchObject({ code: 'E-LINK-03', exit: 4 });
    await device.client.close();
  });
});

describe('listing ports', () => {
  it('by the names in the folder of devices where the system cannot list them', async () => {
    const folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-dev-'));
    for (const name of ['ttyUSB1', 'ttyACM0', 'ttyS0', 'null']) {
      writeFileSync(path.join(folder, name), '');
    }
    mkdirSync(path.join(folder, 'serial'));
    const broken = () => Promise.reject(new Error('spawn udevadm ENOENT'));
    const ports = await listPorts(broken, folder);
    expect(ports.map((port) => path.basename(port.path))).toEqual(['ttyACM0', 'ttyUSB1']);
    rmSync(folder, { recursive: true });
    expect(await listPorts(broken, folder)).toEqual([]);
  });

  it.each([
    ['Error: No such file or directory, cannot open /dev/ttyUSB9', 'E-LINK-01'],
    ['Opening COM9: File not found', 'E-LINK-01'],
    ['Error Resource temporarily unavailable Cannot lock port', 'E-LINK-02'],
    ['Opening COM3: Access denied', 'E-LINK-02'],
    ['Error: Permission denied, cannot open /dev/ttyUSB0', 'E-LINK-02'],
    ['Error: Inappropriate ioctl for device, cannot open /dev/null', 'E-LINK-01'],
    ['something new', 'E-LINK-02'],
  ])('%s: %s', (said, code) => {
    expect(openingFault('/dev/ttyX', new Error(said)).code).toBe(code);
  });
});
