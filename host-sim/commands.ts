/**
 * The list of commands, in the order of `--help`. Only commands that exist are here. Each is loaded
 * when it is called: importing them all would take longer than most of them run.
 */
import type { ListedCommand } from './command/command.js';

export const COMMANDS: readonly ListedCommand[] = [
  {
    name: 'replay',
    usage: 'replay <trace..>',
    describe: 'what the controller would have done on recorded runs, and why',
    load: () => import('./command/replay.js'),
  },
  {
    name: 'tune',
    usage: 'tune <trace..>',
    describe: 'settings chosen from recorded runs: water against temperature',
    load: () => import('./command/tune.js'),
  },
  {
    name: 'open',
    usage: 'open [trace..]',
    describe: 'the workbench: move a threshold, see the sprays',
    load: () => import('./command/open.js'),
  },
  {
    name: 'settings',
    usage: 'settings <action> [file]',
    describe: 'list, make, check, upgrade, send and receive settings',
    load: () => import('./command/settings.js'),
  },
  {
    name: 'calibrate',
    usage: 'calibrate <readings>',
    describe: 'what the bench measured, as the calibration file of a car',
    load: () => import('./command/calibrate.js'),
  },
  {
    name: 'pack',
    usage: 'pack',
    describe: 'image, settings and calibration as one file to flash',
    load: () => import('./command/pack.js'),
  },
  {
    name: 'fit',
    usage: 'fit <trace>',
    describe: 'a car file fitted to a dry recording, with bounds',
    load: () => import('./command/fit.js'),
  },
  {
    name: 'course',
    usage: 'course [course]',
    describe: 'an invented run, made from a course of corners and straights',
    load: () => import('./command/course.js'),
  },
  {
    name: 'prove',
    usage: 'prove [trace..]',
    describe: 'evidence that every cutoff cuts off, for a scrutineer',
    load: () => import('./command/prove.js'),
  },
  {
    name: 'ports',
    usage: 'ports',
    describe: 'serial ports, and what answers on each',
    load: () => import('./command/ports.js'),
  },
  {
    name: 'watch',
    usage: 'watch',
    describe: 'a running controller, live',
    load: () => import('./command/watch.js'),
  },
  {
    name: 'inject',
    usage: 'inject <trace>',
    describe: 'a trace into a controller, every tick compared',
    load: () => import('./command/inject.js'),
  },
  {
    name: 'recall',
    usage: 'recall',
    describe: 'what a controller recorded, as a trace or replayed',
    load: () => import('./command/recall.js'),
  },
  {
    name: 'selftest',
    usage: 'selftest',
    describe: 'a guided self-test of a fitted controller',
    load: () => import('./command/selftest.js'),
  },
  {
    name: 'fingerprint',
    usage: 'fingerprint',
    describe: 'what a controller says it carries, against a pack',
    load: () => import('./command/fingerprint.js'),
  },
  {
    name: 'plan',
    usage: 'plan [itinerary]',
    describe: 'how much water a day takes; nozzles, tank, fuse and wire',
    load: () => import('./command/plan.js'),
  },
  {
    name: 'completion',
    usage: 'completion <shell>',
    describe: 'the script that completes smirr in your shell',
    load: () => import('./command/completion.js'),
  },
];
