/**
 * The page's side of the worker: a request, a promise of its answer. The worker runs the same script as
 * the page, from the same address.
 */
import type { Answer, RequestKind, Requests, Trouble } from './protocol.js';

/** What the worker could not do, in the words of the command line. */
export class TroubleError extends Error {
  readonly code: string;

  constructor({ code, sentence }: Trouble) {
    super(sentence);
    this.code = code;
  }
}

interface Waiting {
  readonly resolve: (answer: unknown) => void;
  readonly reject: (error: Error) => void;
}

export class Engine {
  private worker: Worker | undefined;
  private readonly waiting = new Map<number, Waiting>();
  private last = 0;

  /** `script` is the address of this page's own script. */
  constructor(private readonly script: string) {}

  /** Starts the worker, if it has not been: the first question does, or who knows that one will come. */
  begin(): Worker {
    if (this.worker === undefined) {
      this.worker = new Worker(this.script);
      this.worker.addEventListener('message', ({ data }: MessageEvent<Answer>) => this.take(data));
    }
    return this.worker;
  }

  /** Asks for one thing. Rejects with a `TroubleError`. */
  ask<Kind extends RequestKind>(
    kind: Kind,
    ask: Requests[Kind]['ask'],
    transfer: Transferable[] = [],
  ): Promise<Requests[Kind]['answer']> {
    const number = ++this.last;
    return new Promise((resolve, reject) => {
      this.waiting.set(number, {
        resolve: resolve as (answer: unknown) => void,
        reject,
      });
      this.begin().postMessage({ kind, number, ask }, transfer);
    });
  }

  private take(answer: Answer): void {
    const waiting = this.waiting.get(answer.number);
    this.waiting.delete(answer.number);
    if (waiting === undefined) return;
    if ('trouble' in answer) waiting.reject(new TroubleError(answer.trouble));
    else waiting.resolve(answer.answer);
  }
}
