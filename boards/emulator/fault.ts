/**
 * What ends a run on the emulated board: the image did something that silicon would answer with a
 * fault, a hang or a wrong value, or the emulator said something that nobody has looked at yet. The
 * sentence says what, the program counter and the time say where.
 */

export class BoardFault extends Error {
  override readonly name = 'BoardFault';

  constructor(
    readonly sentence: string,
    readonly pc: number,
    readonly nanos: number,
  ) {
    super(`${sentence} (at 0x${pc.toString(16)}, ${(nanos / 1e6).toFixed(3)} ms)`);
  }
}

/** Ends the run with a sentence. */
export type Complain = (sentence: string) => never;

/** Warnings of the emulator that are no fault of the image, each with the reason. */
const KNOWN_WARNINGS: readonly { readonly text: RegExp; readonly reason: string }[] = [
  {
    text: /^Unimplemented peripheral write to 0x(c|10|14|18|1c|2c|3c|40|50|54): /,
    reason: 'SSI registers of boot2 (mask, baud and thresholds), which change no decision here',
  },
];

/** Whether the emulator's warning of this peripheral is one of the known ones. */
export function isKnownWarning(component: string, text: string): boolean {
  return component === 'SSI' && KNOWN_WARNINGS.some((known) => known.text.test(text));
}
