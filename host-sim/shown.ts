/**
 * Foreign text made fit for a sentence, and lists of words for one. File names, cells and options may
 * hold anything; a terminal is shown no control characters and no page of text.
 */

const LENGTH_MAX = 40;

/** On one line, without control characters, cut when long; '' when there is nothing. */
export function shown(text: string): string {
  const line = oneLine(text.length > 1000 ? text.slice(0, 1000) : text).trim();
  const letters = Array.from(line);
  const cut = letters.length > LENGTH_MAX ? `${letters.slice(0, LENGTH_MAX).join('')}...` : line;
  return cut === '' ? "''" : cut;
}

/** Every run of white space a space, every control or unassigned character a question mark. */
export function oneLine(text: string): string {
  return text.replace(/\s+/gu, ' ').replace(/[\p{Cc}\p{Cf}\p{Cs}\p{Cn}]/gu, '?');
}

/** "a, b or c". */
export function orList(words: readonly string[]): string {
  return list(words, 'or');
}

/** "a, b and c". */
export function andList(words: readonly string[]): string {
  return list(words, 'and');
}

function list(words: readonly string[], last: string): string {
  if (words.length < 2) return words.join('');
  return `${words.slice(0, -1).join(', ')} ${last} ${words[words.length - 1]}`;
}

/** Folds text into lines of at most `lengthMax` characters, between words. */
export function fold(text: string, lengthMax: number): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    if (line !== '' && line.length + 1 + word.length > lengthMax) {
      lines.push(line);
      line = '';
    }
    line = line === '' ? word : `${line} ${word}`;
  }
  return [...lines, line];
}
