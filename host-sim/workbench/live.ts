/**
 * The server's side of the live view: looks at the controller again and again and hands every look to
 * whoever listens. It asks only; nothing that changes the controller is ever sent from here. When the
 * conversation ends, everybody hears the sentence why.
 */
import type { Device, Carried } from '../link/device.js';
import { Looker } from '../link/look.js';
import { MessageType, readStatus } from '../link/messages.js';
import { Fault } from '../fault.js';
import { fetchRecorded } from '../recorder/fetch.js';
import { readLog } from '../recorder/log.js';
import { replayRun } from '../recorder/replay.js';
import { chooseRun, runsOf, summaryOf } from '../recorder/runs.js';
import type { LiveLine, RecordedAnswer } from './opened.js';

/** Between two looks, ms of the controller. */
const EVERY_MS = 40;
/** While nobody listens. */
const IDLE_MS = 500;

/** Where the looks come from. */
export interface Live {
  /** Hands on every line from now on, until what it gives is called. */
  listen(take: (line: LiveLine) => void): () => void;
  /** Reads what the controller recorded, and replays the latest run that drove. */
  recorded(): Promise<RecordedAnswer>;
  close(): Promise<void>;
}

/** Watches a controller. */
export function watchDevice(device: Device, carried: Carried): Live {
  const looker = new Looker(carried);
  const listeners = new Set<(line: LiveLine) => void>();
  let isClosed = false;
  let ended: LiveLine | undefined;
  const tell = (line: LiveLine) => {
    for (const take of listeners) take(line);
  };
  const { client } = device;
  const watch = async () => {
    for (;;) {
      if (listeners.size > 0) {
        const answer = await client.demand('no status', MessageType.Status, looker.payload);
        tell({ look: looker.read(readStatus(answer)) });
      }
      await client.wait(listeners.size > 0 ? EVERY_MS : IDLE_MS);
    }
  };
  watch().catch((error: unknown) => {
    if (isClosed) return;
    ended = { trouble: troubleOf(error) };
    tell(ended);
  });
  let asking: Promise<RecordedAnswer> | undefined;
  return {
    recorded: () => {
      // Two pages that ask at once get one answer: the line is slow.
      asking ??= compareRecorded(device).finally(() => (asking = undefined));
      return asking;
    },
    listen: (take) => {
      if (ended !== undefined) take(ended);
      listeners.add(take);
      return () => listeners.delete(take);
    },
    close: async () => {
      isClosed = true;
      await client.close();
    },
  };
}

async function compareRecorded(device: Device): Promise<RecordedAnswer> {
  try {
    const { region } = await fetchRecorded(device);
    const run = chooseRun(runsOf(readLog(region)), undefined);
    const { ticks, sprays, events, states, difference } = replayRun(run);
    const { number, seconds } = summaryOf(run);
    return {
      ...{ number, seconds, ticks, sprays, events, states },
      ...(difference !== undefined && {
        difference: { atS: difference.atS, sentence: difference.sentence },
      }),
    };
  } catch (error) {
    return { trouble: troubleOf(error) };
  }
}

function troubleOf(error: unknown): { code: string; sentence: string } {
  if (error instanceof Fault) return { code: error.code, sentence: error.message };
  return { code: 'E-INTERNAL-01', sentence: `smirr itself failed (${String(error)})` };
}
