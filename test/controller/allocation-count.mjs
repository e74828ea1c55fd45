/**
 * Counts what ticks allocate in V8, from compiled files. Arguments: the folder of compiled files and
 * the name of a demo. Plays the demo over and over for warm-up, then N ticks and 2N ticks between two
 * looks at the heap, while nothing is collected; prints the bytes of both as JSON. The young space is
 * made so large by the caller that no collection falls into the count.
 */
import path from 'node:path';
import process from 'node:process';
import { pathToFileURL } from 'node:url';

const [dist, demo] = process.argv.slice(2);
/** @param {string} file */
const load = (file) => import(pathToFileURL(path.join(dist, file)).href);
const { create, tick } = await load('controller/core.js');
const { initialSettings } = await load('controller/settings-check.js');
const { LIMITS } = await load('controller/limits.js');
const { Feed, traceCalibration } = await load('host-sim/replay/feed.js');
const { demoTrace } = await load('host-sim/trace/demo.js');

const trace = demoTrace(demo);
const settings = initialSettings();
const core = create(settings, traceCalibration(trace), LIMITS);

/** What the feed sets before each tick of the run, copied, so that only ticks are counted. */
function copyReadings() {
  const feed = new Feed(trace, 'hold', settings.lateAfterMs);
  const copies = [];
  for (let nowMs = 0; nowMs <= feed.lastMs; nowMs += 20) {
    feed.at(nowMs);
    copies.push({ ...feed.readings });
  }
  return copies;
}

const run = copyReadings();
let nowMs = 0;

/** `count` ticks; at its end the run begins again, while time goes on. @param {number} count */
function play(count) {
  for (let index = 0; index < count; index++) {
    const readings = run[index % run.length];
    readings.nowMs = nowMs;
    tick(core, readings);
    nowMs += 20;
  }
}

/** Bytes that `count` ticks leave on a heap that nobody tidies. @param {number} count */
function bytesOf(count) {
  globalThis.gc?.();
  const before = process.memoryUsage().heapUsed;
  play(count);
  return process.memoryUsage().heapUsed - before;
}

/** The least of several rounds: the compiler allocates in some of them, a tick would in all. @param {number} count */
function leastOf(count) {
  const rounds = Array.from({ length: 6 }, () => bytesOf(count));
  return Math.min(...rounds);
}

play(300_000);
bytesOf(10);
process.stdout.write(JSON.stringify({ once: leastOf(50_000), twice: leastOf(100_000) }));
