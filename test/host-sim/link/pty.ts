/**
 * Two ends of a serial line without hardware: a pair of pseudo-terminals joined by `socat`, or by a few
 * lines of Python where there is no socat. `cut` ends it, as pulling the plug does.
 */
import { spawn, spawnSync, type ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';

const has = (program: string, flag: string) =>
  spawnSync(program, [flag], { stdio: 'ignore' }).status === 0;
const HAS_SOCAT = has('socat', '-V');
export const HAS_PTY = process.platform !== 'win32' && (HAS_SOCAT || has('python3', '--version'));
/** Stands in the title of a group that needs them. */
export const NEEDS_PTY = HAS_PTY ? '' : ' (skipped: neither socat nor python3)';

const IN_PYTHON = `
import os, pty, select, sys, tty
ends = []
for name in sys.argv[1:]:
    master, slave = pty.openpty()
    tty.setraw(slave)
    os.symlink(os.ttyname(slave), name)
    ends.append(master)
while True:
    for end in select.select(ends, [], [])[0]:
        os.write(ends[1 - ends.index(end)], os.read(end, 4096))
`;

export interface PtyPair {
  readonly left: string;
  readonly right: string;
  cut(): void;
}

/** Makes a pair. */
export async function makePtyPair(): Promise<PtyPair> {
  const folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-pty-'));
  const [left, right] = [path.join(folder, 'left'), path.join(folder, 'right')];
  const child: ChildProcess = HAS_SOCAT
    ? spawn('socat', [`pty,raw,echo=0,link=${left}`, `pty,raw,echo=0,link=${right}`])
    : spawn('python3', ['-c', IN_PYTHON, left, right]);
  while (!existsSync(left) || !existsSync(right)) {
    await new Promise((resolve) => setImmediate(resolve));
  }
  return {
    left,
    right,
    cut: () => {
      child.kill('SIGKILL');
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
