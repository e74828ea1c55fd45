/**
 * Cores with one line changed: a copy of the compiled core, or of the whole compiled program, in a folder of
 * the test, with a sabotage in it.
 */
import { cpSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { expect } from 'vitest';
import type { Subject } from '../../../host-sim/prove/subject.js';
import { compiled, DIST } from './compiled.js';
import { SABOTAGES, type Sabotage } from './sabotages.js';

/** The sabotage of this name. */
export function sabotageOf(name: string): Sabotage {
  const found = SABOTAGES.find((each) => each.name === name);
  if (found === undefined) throw new Error(`no sabotage is called ${name}`);
  return found;
}

/** The functions of a compiled core in a folder. */
export async function subjectIn(place: string): Promise<Subject> {
  const parts = ['core.js', 'self-check.js', 'snapshot.js'];
  const modules = await Promise.all(parts.map((part) => compiled<object>(path.join(place, part))));
  return Object.assign({}, ...modules) as Subject;
}

function changeLine(place: string, { file, from, to }: Sabotage): void {
  const target = path.join(place, file);
  const parts = readFileSync(target, 'utf8').split(from);
  expect(parts.length, `'${from}' must stand once in ${file}`).toBe(2);
  writeFileSync(target, parts.join(to));
}

/** A copy of the compiled core at `place`, with the sabotage in it. */
export async function brokenSubject(place: string, sabotage: Sabotage): Promise<Subject> {
  cpSync(path.join(DIST, 'controller'), place, { recursive: true });
  writeFileSync(path.join(place, 'package.json'), '{"type":"module"}');
  changeLine(place, sabotage);
  return subjectIn(place);
}

/** A copy of the compiled program at `place`, with the sabotage in its core; gives its command line. */
export function brokenProgram(place: string, sabotage: Sabotage): string {
  const dist = path.join(place, 'dist');
  for (const part of ['boards', 'controller', 'host-sim']) {
    cpSync(path.join(DIST, part), path.join(dist, part), { recursive: true });
  }
  for (const part of ['package.json', 'node_modules', 'boards']) {
    symlinkSync(path.join(DIST, '..', part), path.join(place, part));
  }
  changeLine(path.join(dist, 'controller'), sabotage);
  return path.join(dist, 'host-sim/cli.js');
}
