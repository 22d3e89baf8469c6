/** The actions on chapters: choosing one, hearing it alone or leaving it out, striking it. */

import type { Player } from '../../pieces/player.ts';
import type { Store } from '../../pieces/store.ts';
import type { EngineAnswer, PatchView, Solo, StrokeWish, VoiceView } from '../../protocol.ts';
import type { Wish } from '../engine-link.ts';
import type { Folds } from '../folds.ts';
import type { SheetState } from '../sheet-state.ts';
import { ACCENT_VELOCITY, listenToPads } from './pads.ts';
import { strokeKeys } from './stroke-keys.ts';
import { type PadStroke, PadStrokes } from './strokes.ts';

/** The prefixes of the names of a chapter's folds; for the whole patch nothing follows. */
const FOLDS = ['diagram, ', 'settings, '];

export class Chapters {
  private readonly store: Store<SheetState>;
  private readonly player: Player;
  private readonly ask: (wish: Wish) => number;
  private readonly folds: Folds;
  private readonly strokes: PadStrokes;

  constructor(store: Store<SheetState>, player: Player, ask: (wish: Wish) => number, folds: Folds) {
    this.store = store;
    this.player = player;
    this.ask = ask;
    this.folds = folds;
    this.strokes = new PadStrokes(
      (stroke) => ask({ type: 'stroke', stroke }),
      (stroke, wish) => this.sound(stroke, wish),
    );
  }

  private get now(): SheetState {
    return this.store.now;
  }

  /** Chooses a voice, or the whole patch: its diagram and settings are opened, those of the last are shut. */
  choose(voice: string | undefined): void {
    const { voice: before } = this.now;
    this.store.put({ voice, level: undefined });
    this.ask({ type: 'voice', voice });
    if (before === voice) return;
    for (const of of FOLDS) {
      this.folds.set(`${of}${before ?? ''}`, false);
      this.folds.set(`${of}${voice ?? ''}`, true);
    }
  }

  /** Plays one voice alone, all but one, or all. */
  setSolo(solo: Solo | undefined): void {
    this.store.put({ solo, message: solo === undefined ? 'All is heard again.' : soloWords(solo) });
    this.ask({ type: 'solo', solo });
  }

  /** Plays it so, or all again if it does already. */
  toggleSolo(solo: Solo): void {
    const { solo: now } = this.now;
    const isOn = now?.voice === solo.voice && now.isAlone === solo.isAlone;
    this.setSolo(isOn ? undefined : solo);
  }

  /** Strikes a voice once, beside whatever plays. */
  strike(wish: StrokeWish): void {
    const rate = this.now.view?.loop.sampleRate;
    if (rate !== undefined) this.player.awaken(rate);
    this.strokes.strike(wish);
  }

  /** Strikes by a key. @returns whether it strikes anything. */
  byKey(key: string, isAccented: boolean): boolean {
    const { view } = this.now;
    const found = view && strokeKeys(view).find((one) => one.key === key.toLowerCase());
    if (found === undefined) return false;
    this.strikeAll(
      ({ module, channel }) => module === found.module && channel === found.channel,
      isAccented,
    );
    return true;
  }

  /** Asks for MIDI pads and lets them strike. */
  async usePads(): Promise<void> {
    const rate = this.now.view?.loop.sampleRate;
    // In this gesture, since a stroke of a pad is not a gesture for a browser.
    if (rate !== undefined) this.player.awaken(rate);
    try {
      await listenToPads(
        (note, velocity) => this.byPad(note, velocity),
        (names) =>
          this.store.put({
            pads:
              names.length === 0
                ? 'No MIDI input is plugged in; one that is plugged in later strikes too.'
                : `Listening to ${names.join(', ')}.`,
          }),
      );
      for (const wish of this.wishes()) this.strokes.prepare(wish);
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      this.store.put({ pads: `The browser does not allow MIDI: ${why}` });
    }
  }

  private byPad(note: number, velocity: number): void {
    const isKnown = this.strikeAll((one) => one.note === note, velocity >= ACCENT_VELOCITY);
    if (!isKnown) this.store.put({ pads: `Note ${note} strikes nothing here.` });
  }

  /** @returns whether there was anything to strike. */
  private strikeAll(
    isMeant: (channel: { module: string; channel: string; note: number }) => boolean,
    isAccented: boolean,
  ): boolean {
    const meant = (this.now.view?.voices ?? []).flatMap(({ name: voice, channels }) =>
      channels
        .filter(isMeant)
        .map(({ module, channel }) => ({ voice, module, channel, isAccented })),
    );
    for (const wish of meant) this.strike(wish);
    return meant.length > 0;
  }

  private wishes(voice?: string): readonly StrokeWish[] {
    return (this.now.view?.voices ?? [])
      .filter(({ name }) => voice === undefined || name === voice)
      .flatMap(({ name, channels }) =>
        channels.flatMap(({ module, channel }) =>
          [false, true].map((isAccented) => ({ voice: name, module, channel, isAccented })),
        ),
      );
  }

  /** Takes an answer of the engine. */
  answered(answer: EngineAnswer): void {
    if (answer.type === 'stroke') this.strokes.take(answer.id, answer.stroke, answer);
    // The engine has time now.
    if (answer.type === 'charts') {
      this.store.put({ level: answer.level });
      const { voice } = this.now;
      if (voice !== undefined) for (const wish of this.wishes(voice)) this.strokes.prepare(wish);
    }
  }

  /** Forgets the strokes, since the patch has changed. */
  changed(): void {
    this.strokes.forget();
    const { view, voice, solo } = this.now;
    if (voice !== undefined && voiceNamed(view, voice) === undefined) this.choose(undefined);
    if (solo !== undefined && voiceNamed(view, solo.voice) === undefined) this.setSolo(undefined);
  }

  private sound({ channels, sampleRate }: PadStroke, { voice, channel }: StrokeWish): void {
    if (channels.length > 0) this.player.strike(channels, sampleRate);
    else this.store.put({ message: `The first stroke of ${channel} is not heard of ${voice}.` });
  }
}

/** Which voices are heard, in words. */
export function soloWords({ voice, isAlone }: Solo): string {
  return isAlone ? `${voice} alone is heard.` : `All is heard but ${voice}.`;
}

/** A voice by its name; undefined if there is no patch, or no such voice in it. */
export function voiceNamed(
  view: PatchView | undefined,
  name: string | undefined,
): VoiceView | undefined {
  return view?.voices.find((one) => one.name === name);
}
