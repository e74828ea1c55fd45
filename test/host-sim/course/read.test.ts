/** Course files: what is read, and one sentence for each thing that is wrong. */
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { parseCourse } from '../../../host-sim/course/read.js';
import { courseSchema } from '../../../host-sim/course/schema.js';
import { Fault } from '../../../host-sim/fault.js';

const HEAD = 'kind: smirr-course\nversion: 1\n';

/** All of it once. */
const FULL = `${HEAD}name: Larch Hill
weather: {ambient: 30 degC, humidity: 34 %, pressure: 980 hPa}
begin: {cooler: 38 degC, bay: 78 degC}
surface: 66 %
seed: 7
noise: 50 %
row: 100 ms
until: 3 min
course:
  - idle: 9 s
  - queue: 17 s
    moves: 2
  - start: 3 s
  - straight: 0.13 km
  - {corner: 30 m, speed: 72 km/h}
  - {corner: 90 deg, radius: 40 m}
  - {corner: 20 m, radius: 25 m}
  - lift: 24 m
  - {straight: 50 m, speed: 20 m/s}
  - road: 900 m
  - {road: 90 m, speed: 36 km/h}
  - stop: 5 s
  - crank: 1 s
held:
  - {arm: off, from: 0 s, to: 4 s}
  - {charge: -41.3 degC, from: 25 s, to: 30 s}
  - {supply: 8.8 V, from: 2 s, to: 2.9 s}
  - {level: low, from: 41.5 s, to: 42.3 s}
gaps:
  - {from: 37 s, to: 38.5 s}
`;

describe('a course file', () => {
  it('is read whole', () => {
    const course = parseCourse(FULL, 'larch.yaml');
    expect(course).toMatchObject({
      name: 'Larch Hill',
      weather: { ambientDegC: 30, humidityPm: 340, pressureHpa: 980 },
      surface: 0.66,
      seed: 7,
      noise: 0.5,
      rowMs: 100,
      untilS: 180,
      coolerDegC: 38,
      bayDegC: 78,
      held: [
        { channel: 'arm', value: 0, fromS: 0, toS: 4 },
        { channel: 'charge', value: -413, fromS: 25, toS: 30 },
        { channel: 'supply', value: 8800, fromS: 2, toS: 2.9 },
        { channel: 'level', value: 0, fromS: 41.5, toS: 42.3 },
      ],
      gapsS: [[37, 38.5]],
    });
    const kinds = course.pieces.map(({ kind, seconds, metres, speedMps, radiusM }) => [
      ...[kind, seconds, Number(metres.toFixed(2)), Number(speedMps.toFixed(3)), radiusM],
    ]);
    const INF = Infinity;
    expect(kinds).toEqual([
      ['idle', 9, 0, 0, INF],
      ['idle', 8.5, 0, 0, INF],
      ['road', 0, 8, 2.222, INF],
      ['idle', 8.5, 0, 0, INF],
      ['road', 0, 8, 2.222, INF],
      ['start', 3, 0, 0, INF],
      ['straight', 0, 130, INF, INF],
      ['corner', 0, 30, 20, INF],
      // A quarter of a circle of 40 m: 62.83 m.
      ['corner', 0, 62.83, INF, 40],
      ['corner', 0, 20, INF, 25],
      ['lift', 0, 24, INF, INF],
      ['straight', 0, 50, 20, INF],
      ['road', 0, 900, 13.889, INF],
      ['road', 0, 90, 10, INF],
      ['stop', 5, 0, 0, INF],
      ['crank', 1, 0, 0, INF],
    ]);
  });

  it('needs only its pieces: a mild day, dry asphalt, the name of the file', () => {
    const course = parseCourse(`${HEAD}course: [straight: 100 m]\n`, 'day/short.yaml');
    expect(course).toMatchObject({
      name: 'short.yaml',
      weather: { ambientDegC: 20, humidityPm: 500, pressureHpa: 1013 },
      ...{ surface: 1, seed: 1, noise: 1, rowMs: 50, untilS: Infinity },
      ...{ coolerDegC: 28, bayDegC: 60, held: [], gapsS: [] },
    });
  });
});

describe('the schema', () => {
  const validate = new Ajv2020({ strict: false }).compile(courseSchema());

  it('accepts what is read', () => {
    expect(validate(parse(FULL)), JSON.stringify(validate.errors)).toBe(true);
  });

  it.each([
    [`${HEAD}course: [straight: 100]\n`],
    [`${HEAD}course: [jump: 20 m]\n`],
    [`${HEAD}course: []\n`],
    [`${HEAD}course: [idle: 3 s]\nwether: {}\n`],
    [`kind: smirr-course\ncourse: [idle: 3 s]\n`],
  ])('refuses %j', (text) => {
    expect(validate(parse(text))).toBe(false);
    expect(() => parseCourse(text, 'c.yaml')).toThrow(Fault);
  });
});

function faultOf(body: string, head = HEAD): Fault {
  try {
    parseCourse(head + body, 'c.yaml');
  } catch (error) {
    if (error instanceof Fault) return error;
    throw error;
  }
  throw new Error(`this was read: ${body}`);
}

describe('a fault', () => {
  it.each([
    [
      '',
      'kind: smirr-settings\nversion: 1\n',
      'E-COURSE-01',
      'line 1, column 7: this is of kind smirr-settings, not smirr-course',
    ],
    [
      '',
      'Time [s],rpm\n0,900\n',
      'E-COURSE-01',
      "this is no course file: it begins with 'Time [s],rpm', not 'kind: smirr-course'",
    ],
    [
      'course: [idle: 3 s]\n',
      'kind: smirr-course\nversion: 2\n',
      'E-COURSE-02',
      'the file is of version 2 and this smirr reads up to version 1; use a newer smirr',
    ],
    ['course: [idle: 3 s\n', HEAD, 'E-COURSE-03', 'this is no readable YAML'],
    [
      'course: 3\n',
      HEAD,
      'E-COURSE-03',
      "line 3, column 9: course must be a list, a line for each: '- straight: 130 m'",
    ],
    ['course: [idle]\n', HEAD, 'E-COURSE-03', "item 1 of course must be written 'straight: 130 m'"],
    [
      'course: [idle: [3 s]]\n',
      HEAD,
      'E-COURSE-03',
      'idle of piece 1 of course is a list or a group; it must be one value',
    ],
    [
      'weather: warm\ncourse: [idle: 3 s]\n',
      HEAD,
      'E-COURSE-03',
      'weather must be a group with ambient, humidity, pressure',
    ],
    ['curse: []\n', HEAD, 'E-COURSE-04', 'curse is not known in the file; did you mean course?'],
    [
      'course: [jump: 20 m]\n',
      HEAD,
      'E-COURSE-04',
      "piece 1 of course names no piece; it must be stop, crank, idle, queue, start, straight, corner, lift or road, such as '- straight: 130 m'",
    ],
    [
      'course: [{idle: 3 s, road: 3 m}]\n',
      HEAD,
      'E-COURSE-04',
      'piece 1 of course is idle and road; each piece is an item of its own',
    ],
    [
      'course: [{idle: 3 s, speed: 3 m/s}]\n',
      HEAD,
      'E-COURSE-04',
      'speed is not known in piece 1 of course',
    ],
    [
      'seed: 1\nseed: 2\ncourse: [idle: 3 s]\n',
      HEAD,
      'E-COURSE-05',
      'line 4, column 1: seed is given twice, first in line 3',
    ],
    [
      'course:\n  - idle: 3 s\n  - straight: 130\n',
      HEAD,
      'E-COURSE-06',
      'line 5, column 15: straight of piece 2 of course is 130; its unit is missing: write m or km after the number',
    ],
    [
      'course: [{corner: 30 m, speed: 72 m}]\n',
      HEAD,
      'E-COURSE-06',
      'speed of piece 1 of course is 72 m; m is no unit of a speed: write km/h, m/s or mph',
    ],
    [
      'seed: x\ncourse: [idle: 3 s]\n',
      HEAD,
      'E-COURSE-06',
      'seed is x; it must be a whole number from 0 to 4294967295',
    ],
    [
      'held: [{arm: open, from: 0 s, to: 1 s}]\ncourse: [idle: 3 s]\n',
      HEAD,
      'E-COURSE-06',
      'arm in item 1 of held is open; it must be off or on',
    ],
    [
      'course: [straight: 0.5 m]\n',
      HEAD,
      'E-COURSE-07',
      'straight of piece 1 of course is 0.5 m; it must be 1 m to 100000 m',
    ],
    [
      'surface: 200 %\ncourse: [idle: 3 s]\n',
      HEAD,
      'E-COURSE-07',
      'surface is 200 %; it must be 5 % to 150 %',
    ],
    [
      'weather: {pressure: 1.2 bar}\ncourse: [idle: 3 s]\n',
      HEAD,
      'E-COURSE-07',
      'weather.pressure is 1.2 bar; it must be 550 hPa to 1080 hPa',
    ],
    [
      'row: 25 ms\ncourse: [idle: 3 s]\n',
      HEAD,
      'E-COURSE-07',
      'row is 25 ms; it must be a multiple of 10 ms',
    ],
    [
      `course: [{queue: 200 s, moves: 300}]\n`,
      HEAD,
      'E-COURSE-07',
      'moves of piece 1 of course is 300; it must be 0 to 200',
    ],
    [
      'seed: 4\n',
      HEAD,
      'E-COURSE-08',
      "course is missing: a list of pieces such as '- straight: 130 m'",
    ],
    [
      'course: []\n',
      HEAD,
      'E-COURSE-08',
      "course is empty; it needs pieces such as '- straight: 130 m'",
    ],
    [
      'held: [{from: 0 s, to: 1 s}]\ncourse: [idle: 3 s]\n',
      HEAD,
      'E-COURSE-08',
      'item 1 of held holds no reading',
    ],
    [
      'gaps: [{from: 0 s}]\ncourse: [idle: 3 s]\n',
      HEAD,
      'E-COURSE-08',
      "item 1 of gaps does not say to, as in 'from: 3 s, to: 5 s'",
    ],
    [
      'course: [corner: 30 m]\n',
      HEAD,
      'E-COURSE-09',
      'piece 1 of course is a corner with neither radius nor speed; it must have one of the two',
    ],
    [
      'course: [{corner: 30 m, radius: 9 m, speed: 9 m/s}]\n',
      HEAD,
      'E-COURSE-09',
      'both radius and speed',
    ],
    [
      'course: [{corner: 90 deg, speed: 9 m/s}]\n',
      HEAD,
      'E-COURSE-09',
      'piece 1 of course is a corner by its angle, which needs a radius',
    ],
    [
      'gaps: [{from: 3 s, to: 2 s}]\ncourse: [idle: 3 s]\n',
      HEAD,
      'E-COURSE-09',
      'item 1 of gaps goes from 3 s to 2 s; it must end after it begins',
    ],
  ])('%j: one sentence with code, place, value and bound', (body, head, code, sentence) => {
    const fault = faultOf(body, head);
    expect(fault.code).toBe(code);
    expect(fault.exit).toBe(3);
    expect(fault.message).toContain(sentence);
    expect(fault.message).toMatch(/^c\.yaml, line \d+, column \d+: /u);
  });

  it('carries all others of the file', () => {
    const fault = faultOf('surface: 9\nseed: -1\ncourse: [straight: 1, jump: 2 m]\n');
    expect([fault, ...fault.others].map(({ code }) => code).sort()).toEqual([
      ...['E-COURSE-04', 'E-COURSE-06', 'E-COURSE-06', 'E-COURSE-06'],
    ]);
  });
});
