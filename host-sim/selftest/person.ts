/**
 * The person at the keyboard: what is said to them, on stderr, and what they type, a line an answer. Answers may
 * as well come from a file on standard input. An answer that is none of those asked for is asked for
 * again; standard input that ends throws E-SELFTEST-01.
 */
import type { Readable } from 'node:stream';
import { Fault } from '../fault.js';
import { fold, orList, shown } from '../shown.js';
import type { Terminal } from '../terminal.js';

const LINE_LENGTH_MAX = 90;
/** So often an answer may be mistyped. */
const TRIES = 5;

export class Person {
  private readonly pieces: AsyncIterator<Uint8Array>;
  private readonly echoes: boolean;
  private typed = '';
  private hasEnded = false;

  constructor(private readonly terminal: Terminal) {
    const input: Readable & { readonly isTTY?: boolean } = terminal.input;
    this.pieces = (input as AsyncIterable<Uint8Array>)[Symbol.asyncIterator]();
    // What a person types stands on the terminal already.
    this.echoes = input.isTTY !== true;
  }

  /** Says sentences, each a paragraph of its own. */
  tell(...sentences: readonly string[]): void {
    for (const sentence of sentences) {
      for (const line of fold(sentence, LINE_LENGTH_MAX)) this.terminal.warn(line);
    }
  }

  /** Waits until something is prepared; false if `skip` was typed. */
  async prepared(sentence: string): Promise<boolean> {
    return this.isGo(`${sentence} Then press Enter, or type skip.`);
  }

  /** Asks for something that is watched from then on; false if `skip` was typed. */
  async acts(sentence: string): Promise<boolean> {
    return this.isGo(`${sentence} Press Enter first and do it within 30 s, or type skip.`);
  }

  /** True if the sentence was typed as it stands, whatever else was typed instead. */
  async confirms(question: string, sentence: string): Promise<boolean> {
    return (
      (await this.ask(
        `${question} Type "${sentence}" to go on, anything else to leave it out:`,
      )) === sentence
    );
  }

  /** One of some words. */
  async choose<Word extends string>(question: string, words: readonly Word[]): Promise<Word> {
    return this.until(question, `type ${orList(words.map((word) => word || 'nothing'))}`, (text) =>
      words.find((word) => word === text.toLowerCase()),
    );
  }

  /** A number, with a decimal point or comma, and perhaps the unit. */
  async number(question: string, unit: string): Promise<number> {
    return this.until(question, `type a number${unit === '' ? '' : ` of ${unit}`}`, (text) => {
      const [, digits] = /^(-?\d+(?:[.,]\d+)?)\s*(?:V|v)?$/u.exec(text) ?? [];
      return digits === undefined ? undefined : Number(digits.replace(',', '.'));
    });
  }

  /** A line as it was typed, without spaces at its ends. */
  async ask(question: string): Promise<string> {
    this.tell(question);
    const text = (await this.line()).trim();
    if (this.echoes) this.terminal.warn(`> ${text}`);
    return text;
  }

  /** Lets go of standard input, so that the process can end. */
  async leave(): Promise<void> {
    await this.pieces.return?.();
  }

  private async isGo(question: string): Promise<boolean> {
    return (await this.choose(question, ['', 'skip'])) === '';
  }

  private async until<Answer>(
    question: string,
    remark: string,
    read: (text: string) => Answer | undefined,
  ): Promise<Answer> {
    let text = await this.ask(question);
    for (let tries = 1; ; tries++) {
      const answer = read(text);
      if (answer !== undefined) return answer;
      if (tries >= TRIES) {
        throw new Fault('E-SELFTEST-01', `${shown(text)} is no answer; the self-test ends here`);
      }
      text = await this.ask(`${shown(text)} is no answer; ${remark}:`);
    }
  }

  private async line(): Promise<string> {
    while (!this.typed.includes('\n') && !this.hasEnded) {
      const piece = await this.pieces.next();
      if (piece.done === true) this.hasEnded = true;
      else this.typed += Buffer.from(piece.value).toString('utf8');
    }
    const at = this.typed.indexOf('\n');
    if (at < 0 && this.typed === '') {
      throw new Fault('E-SELFTEST-01', 'standard input ended before the self-test was through');
    }
    const line = at < 0 ? this.typed : this.typed.slice(0, at);
    this.typed = at < 0 ? '' : this.typed.slice(at + 1);
    return line;
  }
}
