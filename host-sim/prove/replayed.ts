/**
 * Whether a replay of a saved trace shows the violation: not guessed from the plan but tried, as `smirr
 * replay --check` would do it, with the same core that broke the property. Takes the text of the trace and
 * how it began, gives true or false.
 */
import { LIMITS } from '../../controller/limits.js';
import type { Settings } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import { settingsFor } from '../replay/drive.js';
import { chooseBetween, Feed, traceCalibration } from '../replay/feed.js';
import { parseTrace } from '../trace/parse.js';
import type { Trace } from '../trace/trace.js';
import { Checker } from './check.js';
import { POWER_ON, type Plan } from './plan.js';
import { TICK_MS } from './runs.js';
import type { Subject } from './subject.js';

/** How a replay of a saved trace is started. */
export interface ReplayStart {
  readonly settings: Settings;
  /** What `--tank` and `--from-boot` say. */
  readonly plan: Pick<Plan, 'tankUl' | 'boot'>;
  readonly subject: Subject;
}

/** The ids of the properties that a replay of this text finds violated. */
export function violatedInReplay(text: string, start: ReplayStart): string[] {
  const trace = readBack(text);
  if (trace === undefined) return [];
  const { subject, plan } = start;
  const calibration = traceCalibration(trace);
  const settings = settingsFor(start.settings, calibration);
  const core = subject.create(settings, calibration, LIMITS, plan.tankUl);
  if (plan.boot !== undefined) subject.boot(core, { ...POWER_ON, tankUl: plan.tankUl });
  const between = chooseBetween(trace, settings.lateAfterMs);
  const feed = new Feed(trace, between, settings.lateAfterMs);
  const checker = new Checker(plan.boot && plan.tankUl);
  for (let nowMs = 0; nowMs <= feed.lastMs; nowMs += TICK_MS) {
    feed.at(nowMs);
    subject.tick(core, feed.readings);
    checker.see(core, feed.readings, nowMs);
  }
  return checker.result.violated.map(({ property }) => property);
}

/** Undefined if the reader of traces refuses it. */
function readBack(text: string): Trace | undefined {
  try {
    return parseTrace(Buffer.from(text), 'the saved trace');
  } catch (error) {
    if (error instanceof Fault) return undefined;
    throw error;
  }
}
