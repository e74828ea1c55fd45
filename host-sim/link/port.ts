/**
 * A serial port as the link needs it: bytes out, bytes in, the end of it, and a clock. A real port goes
 * through `serialport`; the port `emulator` through the same stream with a binding of its own
 * (emulator.ts), whose clock is that of the emulated board, so that nothing there depends on how fast
 * this computer is. What opening refuses becomes one sentence (E-LINK-01, E-LINK-02).
 */
import { SerialPortStream } from '@serialport/stream';
import type { BindingInterface } from '@serialport/bindings-interface';
import { Fault } from '../fault.js';
import { shown } from '../shown.js';

export const BAUD = 115200;

export interface LinkPort {
  readonly name: string;
  write(bytes: readonly number[]): void;
  /** Called with what arrives. */
  onBytes: (bytes: Uint8Array) => void;
  /** Called once when the port is gone, with why if it was not asked for. */
  onGone: (why: string) => void;
  /** Calls `then` after so many milliseconds of the port's own time; gives what takes that back. */
  after(ms: number, then: () => void): () => void;
  close(): Promise<void>;
}

/** A clock by which timeouts run. */
export type After = LinkPort['after'];

const realAfter: After = (ms, then) => {
  const timer = setTimeout(then, ms);
  return () => clearTimeout(timer);
};

/** Opens a real port. Throws E-LINK-01 or E-LINK-02. */
export async function openSerial(path: string): Promise<LinkPort> {
  let binding: BindingInterface;
  try {
    const { SerialPort } = await import('serialport');
    binding = SerialPort.binding;
  } catch (error) {
    throw new Fault('E-LINK-02', `serial ports cannot be used here (${(error as Error).message})`);
  }
  return openThrough(binding, path, realAfter);
}

/** Opens `path` through a binding of serialport. Throws E-LINK-01 or E-LINK-02. */
export async function openThrough(
  binding: BindingInterface,
  path: string,
  after: After,
): Promise<LinkPort> {
  const stream = new SerialPortStream({ binding, path, baudRate: BAUD, autoOpen: false });
  await new Promise<void>((resolve, reject) => {
    stream.open((error) => {
      if (error) reject(openingFault(path, error));
      else resolve();
    });
  });
  return wrap(stream, path, after);
}

function wrap(stream: SerialPortStream, name: string, after: After): LinkPort {
  let isClosing = false;
  const port: LinkPort = {
    name,
    onBytes: () => undefined,
    onGone: () => undefined,
    after,
    write(bytes) {
      if (stream.isOpen) stream.write(Buffer.from(bytes));
    },
    async close() {
      isClosing = true;
      if (!stream.isOpen) return;
      await new Promise<void>((resolve) => stream.close(() => resolve()));
    },
  };
  stream.on('data', (bytes: Buffer) => port.onBytes(bytes));
  stream.on('error', (error: Error) => port.onGone(error.message));
  stream.on('close', (error: Error | null) => {
    if (!isClosing) port.onGone(error?.message ?? 'it was closed');
  });
  return port;
}

/** What the operating systems say, as far as it is known. */
const NOT_THERE = /no such (file|device)|not found|cannot find|ENOENT|ENXIO|no such device/iu;
const BUSY = /temporarily unavailable|cannot lock|busy|access denied|EBUSY|EAGAIN/iu;
const FORBIDDEN = /permission denied|EACCES|EPERM/iu;
const NO_PORT = /inappropriate ioctl|ENOTTY|not a (tty|serial)|invalid argument|bad file/iu;

/** The fault for what opening a port threw. */
export function openingFault(path: string, error: Error): Fault {
  const port = shown(path);
  const said = error.message.replace(/^Error:?\s*/u, '');
  if (NOT_THERE.test(said)) {
    return new Fault('E-LINK-01', `there is no port ${port}; smirr ports lists those that are`);
  }
  if (FORBIDDEN.test(said)) {
    const sentence = `port ${port} may not be used by you (${said}); on Linux the group dialout may`;
    return new Fault('E-LINK-02', sentence);
  }
  if (BUSY.test(said)) {
    return new Fault('E-LINK-02', `port ${port} is in use by another program`);
  }
  if (NO_PORT.test(said)) return new Fault('E-LINK-01', `${port} is no serial port`);
  return new Fault('E-LINK-02', `port ${port} cannot be opened (${said})`);
}
