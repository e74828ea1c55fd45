/**
 * The part of a run that is in view, and how panning and zooming move it. Times are ms; a view never
 * leaves the run and never shows less than a second of it.
 */
export interface View {
  readonly fromMs: number;
  readonly toMs: number;
}

const SPAN_MS_MIN = 1000;

/** The whole of a run. */
export function wholeView(lengthMs: number): View {
  return { fromMs: 0, toMs: Math.max(lengthMs, SPAN_MS_MIN) };
}

/** A view of `spanMs` from `fromMs`, moved so that it lies within the run. */
export function viewAt(fromMs: number, spanMs: number, lengthMs: number): View {
  const whole = wholeView(lengthMs);
  const span = Math.min(Math.max(spanMs, SPAN_MS_MIN), whole.toMs);
  const from = Math.max(0, Math.min(fromMs, whole.toMs - span));
  return { fromMs: from, toMs: from + span };
}

/** Zooms by `factor` (under 1 is nearer) so that the moment `aboutMs` keeps its place. */
export function zoomed(view: View, factor: number, aboutMs: number, lengthMs: number): View {
  const span = view.toMs - view.fromMs;
  const next = Math.min(Math.max(span * factor, SPAN_MS_MIN), wholeView(lengthMs).toMs);
  const share = (aboutMs - view.fromMs) / span;
  return viewAt(aboutMs - share * next, next, lengthMs);
}

/** Moves by a share of what is in view. */
export function panned(view: View, share: number, lengthMs: number): View {
  const span = view.toMs - view.fromMs;
  return viewAt(view.fromMs + share * span, span, lengthMs);
}

/** The same span, moved only if `ms` is not comfortably inside. */
export function showing(view: View, ms: number, lengthMs: number): View {
  const span = view.toMs - view.fromMs;
  const edge = 0.06 * span;
  if (ms >= view.fromMs + edge && ms <= view.toMs - edge) return view;
  return viewAt(ms - span / 2, span, lengthMs);
}
