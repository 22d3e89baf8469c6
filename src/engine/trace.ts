/**
 * What happens on the wires, in order: every edge that the rhythm sequencers send, each trigger that
 * an input notices, each step of a follower and each phase of an envelope. The edges are the very
 * ones that the render plays; the rest is heard with a meter's lead at the jacks while the control
 * path plays, sample by sample. Memory does not grow with the length.
 */

import { nodeLaw, nodeVolts } from '../electrical/node-law.ts';
import type { OutputFacts } from '../modules/facts.ts';
import { type JackRef, jackName, type Patch, type PatchModule } from '../patch/patch.ts';
import { edgesAtJacks, LiveEdges } from '../timing/at-jacks.ts';
import { edgesOf } from '../timing/edges.ts';
import type { Pulse, TimedEdge } from '../timing/pulses.ts';
import { isFollowing } from '../timing/rhythm.ts';
import type { Happening } from './happening.ts';
import { type Prepared, prepared } from './prepared.ts';
import { BLOCK, Renderer } from './renderer.ts';
import { type Heard, probesOf, Watcher } from './watcher.ts';

/** How long is listened, and how finely. */
export interface TraceOptions {
  /** Hz, a whole number from 8000 to 192 000. */
  readonly sampleRate: number;
  /** How long is played, s. Gates that are high then end in their own time. */
  readonly seconds: number;
  /**
   * Told the volts of every envelope's output, a block at a time, from sample `from` on. The first
   * `count` count, and the array is filled again afterwards. For `trace` alone.
   */
  readonly onEnvelope?: (module: string, volts: Float64Array, from: number, count: number) => void;
  /** Told more of the same play. For `trace` alone. */
  readonly listener?: PathListener;
}

/** Is told of a control path while it plays, for code that would otherwise play it once more. */
export interface PathListener {
  /** Jacks whose volts are wanted. */
  readonly probes: readonly JackRef[];
  /**
   * Takes their volts, an array each, a block at a time, from sample `from` on. The first `count` count, and the
   * arrays are filled again afterwards.
   */
  onVolts(volts: readonly Float64Array[], from: number, count: number): void;
  /** Takes each stroke of the rhythms that follow pulses. */
  onStroke(module: PatchModule, stroke: Pulse, channel: number): void;
}

/**
 * Gives the edges that a patch's rhythm sequencers send, in order, without playing the patch unless one
 * of them follows pulses. They are made as they are asked for, each an object of its own.
 * @param of a checked patch; one without a rhythm sequencer gives nothing.
 */
export function* sentEdges(
  of: Patch | Prepared,
  { sampleRate, seconds }: TraceOptions,
): Generator<Happening> {
  const all = prepared(of);
  const { patch } = all;
  if (patch.modules.some((module) => isFollowing(patch, module))) {
    for (const happening of trace(all, { sampleRate, seconds }))
      if (happening.cause !== undefined) yield happening;
    return;
  }
  const streams = patch.modules
    .filter(({ definition }) => definition.role === 'score')
    .map((module) => {
      const options = { sampleRate, seed: patch.seed, until: seconds };
      const next = edgesAtJacks(module, sampleRate, edgesOf(module, options));
      return { next, describe: describer(module), edge: next() };
    });
  const [only, ...others] = streams;
  if (only === undefined) return;
  if (others.length === 0) {
    for (let { edge } = only; edge !== undefined; edge = only.next()) yield only.describe(edge);
    return;
  }
  for (;;) {
    let first: (typeof streams)[number] | undefined;
    for (const stream of streams) {
      if (stream.edge === undefined) continue;
      if (first?.edge === undefined || stream.edge.sample < first.edge.sample) first = stream;
    }
    if (first?.edge === undefined) return;
    yield first.describe(first.edge);
    first.edge = first.next();
  }
}

/**
 * Gives everything that happens while the control path of a patch plays, in order: what `sentEdges`
 * gives, and what trigger inputs, followers and envelopes make of it. It is played as it is asked for.
 * @param of a checked patch; it need not have an output module.
 * @throws Error if a circuit gives a value that is no finite number.
 */
export function* trace(of: Patch | Prepared, options: TraceOptions): Generator<Happening> {
  const { sampleRate, seconds, listener } = options;
  const frames = Math.round(seconds * sampleRate);
  const { patch, control, path: played } = prepared(of);
  const { triggers } = control;
  const sent: Happening[] = [];
  /** Gates of followers that have risen: their falls are not known beforehand. */
  const high = new Set<string>();
  const live = new Map<PatchModule, LiveEdges>();
  const liveOf = (module: PatchModule): LiveEdges => {
    const known = live.get(module) ?? new LiveEdges(module, sampleRate);
    live.set(module, known);
    return known;
  };
  const watched = [...new Set(triggers.map(({ module }) => module))];
  const probes = watched.map((module) => probesOf(module));
  const renderer: Renderer = new Renderer(played, {
    sampleRate,
    probes: [...probes.flat(), ...(listener?.probes ?? [])],
    until: seconds,
    onEdge: (module, edge) => liveOf(module).take(edge),
    ...(listener && {
      onStroke: (module, stroke, channel) => {
        // Gates that are high at the end play on.
        if (renderer.position < frames) listener.onStroke(module, stroke, channel);
      },
    }),
    edgesOf: (module) => {
      if (isFollowing(patch, module)) return undefined;
      const options = { sampleRate, seed: patch.seed, until: seconds };
      const next = edgesOf(module, options);
      const describe = describer(module);
      const shown = edgesAtJacks(module, sampleRate, edgesOf(module, options));
      let one = shown();
      return () => {
        const edge = next();
        for (; one !== undefined && one.sample <= (edge?.sample ?? Infinity); one = shown())
          sent.push(describe(one));
        return edge;
      };
    },
  });
  const { at } = played.nets;
  const peakOf = (module: PatchModule): number => {
    const out = module.jacks.find(({ name }) => name === 'out');
    const isMeasured = out?.direction === 'out' && out.facts.type === 'voltage' && out.facts.stage;
    const peak = isMeasured
      ? out.facts.high
      : (module.definition.course?.(module.settings).peak ?? 0);
    const net = at({ module: module.name, jack: 'out' });
    return net?.outputs.length === 1 ? nodeVolts(nodeLaw(net), [peak]) : peak;
  };
  const sources = new LatestRises();
  let used = 0;
  const watchers = watched.map((module, index) => {
    const volts = renderer.probes.slice(used, used + (probes[index] as JackRef[]).length);
    used += volts.length;
    return new Watcher(
      module,
      triggers.filter((trigger) => trigger.module === module),
      volts,
      peakOf(module),
      sampleRate,
    );
  });

  const listened = renderer.probes.slice(used);
  while (renderer.position < frames || sent.length > 0 || high.size > 0) {
    const from = renderer.position;
    renderer.next();
    for (const [module, edges] of live)
      for (const one of edges.before(renderer.position).map(describer(module))) {
        sent.push(one);
        if (one.edge === 'rise') high.add(one.jack);
        else if (one.edge === 'fall') high.delete(one.jack);
      }
    const count = Math.min(BLOCK, frames - from);
    if (count > 0) listener?.onVolts(listened, from, count);
    const heard: Heard[] = [];
    for (const watcher of watchers) {
      watcher.read(from, count, heard);
      if (watcher.out !== undefined) options.onEnvelope?.(watcher.name, watcher.out, from, count);
    }
    const due = takeBefore(sent, renderer.position);
    heard.sort((a, b) => a.sample - b.sample);
    let next = 0;
    for (const one of heard) {
      for (; next < due.length && (due[next] as Happening).sample <= one.sample; next++)
        yield sources.send(due[next] as Happening);
      yield sources.explain(one, sampleRate);
    }
    for (; next < due.length; next++) yield sources.send(due[next] as Happening);
  }
}

/** Gives a function that names the jack and the direction of a rhythm's edges. */
function describer(module: PatchModule): (edge: TimedEdge) => Happening {
  const outputs = module.jacks.map(({ name, ...jack }) => ({
    jack: jackName({ module: module.name, jack: name }),
    isGate: jack.direction === 'out' && jack.signal === 'gate',
    middle: jack.direction === 'out' ? middleOf(jack.facts) : 0,
  }));
  return ({ output, sample, time, volts, bar, step, cause }) => {
    const { jack, isGate, middle } = outputs[output] as (typeof outputs)[number];
    const edge = isGate ? (volts > middle ? 'rise' : 'fall') : 'level';
    return { sample, time, jack, edge, volts, bar, step, cause };
  };
}

/** V over which a gate is high. */
function middleOf(facts: OutputFacts): number {
  return facts.type === 'voltage' ? (facts.low + facts.high) / 2 : 0;
}

/** Takes the edges before a sample, in order; each rhythm has one at least that is still to come. */
function takeBefore(sent: Happening[], sample: number): Happening[] {
  const due = sent.filter((one) => one.sample < sample);
  const later = sent.filter((one) => one.sample >= sample);
  sent.length = 0;
  for (const one of later) sent.push(one);
  return due.sort((a, b) => a.sample - b.sample);
}

/** The latest rise of every output of the rhythms, to say what something comes from. */
class LatestRises {
  private readonly rises = new Map<string, Happening>();

  send(edge: Happening): Happening {
    if (edge.edge === 'rise') this.rises.set(edge.jack, edge);
    return edge;
  }

  explain({ origins, timed, ...heard }: Heard, sampleRate: number): Happening {
    let last: Happening | undefined;
    for (const origin of origins) {
      const rise = this.rises.get(origin);
      if (rise !== undefined && rise.sample >= (last?.sample ?? 0)) last = rise;
    }
    const time = heard.sample / sampleRate;
    return {
      ...heard,
      time,
      ...(last && { bar: last.bar as number, step: last.step as number }),
      ...(last && timed && { latency: (heard.sample - last.sample) / sampleRate }),
    };
  }
}
