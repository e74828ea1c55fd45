/**
 * What the controller itself recorded, tick by tick, against the host's core: a button that asks the
 * server, which reads the recorder over the link and replays the latest run that drove.
 */
import { counted, decimal, duration } from '../../report/format.js';
import type { RecordedAnswer } from '../opened.js';
import { button, byId } from './dom.js';
import { TroubleError } from './engine.js';
import type { Files } from './files.js';

/** Adds the button; `address` answers it. */
export function showRecorded(files: Files, address: string): void {
  const say = byId('live-recorded');
  const ask = button('Compare what it recorded', () => void compare(), {
    id: 'live-compare',
    title: 'read the controller’s own recorder and replay every tick of it on the host core',
  });
  byId('live-buttons').append(ask);
  const compare = async () => {
    ask.disabled = true;
    say.textContent = 'Reading what the controller recorded; looks come more slowly meanwhile…';
    try {
      const answer = (await (await fetch(address)).json()) as RecordedAnswer;
      if ('trouble' in answer) throw new TroubleError(answer.trouble);
      say.textContent = sentenceOf(answer);
    } catch (error) {
      say.textContent = '';
      files.say(error);
    } finally {
      ask.disabled = false;
    }
  };
}

function sentenceOf(answer: Exclude<RecordedAnswer, { trouble: unknown }>): string {
  const { number, seconds, ticks, sprays, events, states, difference } = answer;
  const run = `Run ${number} of its recorder, ${duration(seconds * 1000)}: `;
  if (difference !== undefined) {
    return `${run}the first difference is ${decimal(difference.atS, 2)} s after its beginning: ${difference.sentence}.`;
  }
  return (
    `${run}controller and host core decided the same in each of ${counted(ticks, 'tick')}, with ` +
    `${counted(sprays, 'spray')}, ${counted(events, 'event')} and ${counted(states, 'whole state')} compared.`
  );
}
