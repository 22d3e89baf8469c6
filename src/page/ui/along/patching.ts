/** Patching along behind its dialog: which cable, the facts about it, what is heard, and which cables are ticked. */

import { USUAL_RATE } from '../../../engine/usual-rate.ts';
import { FULL_SCALE_VOLTS } from '../../../modules/output.ts';
import type { Playable } from '../../pieces/player.ts';
import type { Store } from '../../pieces/store.ts';
import type { AlongHeard, EngineAnswer } from '../../protocol.ts';
import type { Wish } from '../engine-link.ts';
import type { AlongState, SheetState } from '../sheet-state.ts';
import { heardChannels } from '../strip/heard-volts.ts';
import { showTicks, Ticks } from './ticks.ts';

type AlongAnswer = Extract<EngineAnswer, { type: 'along' | 'along-heard' }>;

export class Patching {
  private readonly store: Store<SheetState>;
  private readonly ask: (wish: Wish) => number;
  private readonly level: () => void;
  private readonly ticks: Ticks;
  private asked = 0;
  /** The requested cable; undefined for the first that is not done. */
  private wanted: string | undefined;

  /** @param level hands the sound of the dialog to the player. */
  constructor(store: Store<SheetState>, ask: (wish: Wish) => number, level: () => void) {
    this.store = store;
    this.ask = ask;
    this.level = level;
    this.ticks = new Ticks(store.now.files.main, location);
    this.ticks.follow((names) => this.putTicks(names));
    this.putTicks(this.ticks.read());
    document.addEventListener('change', ({ target }) => {
      if (target instanceof HTMLInputElement && target.dataset.cable !== undefined)
        this.tick(target.dataset.cable, target.checked);
    });
  }

  private get now(): AlongState | undefined {
    return this.store.now.along;
  }

  open(): void {
    this.wanted = undefined;
    this.put({ view: undefined, heard: undefined, sounding: this.silence(), isDoubted: false });
    this.request();
    this.level();
  }

  close(): void {
    if (this.now === undefined) return;
    this.store.put({ along: undefined });
    this.level();
  }

  /** Goes to a cable. */
  go(name: string): void {
    this.wanted = name;
    this.request();
  }

  /** Goes a number of cables on or back, up to the ends of the list. */
  step(by: 1 | -1): void {
    const view = this.now?.view;
    // From the requested cable, whether its facts have come or not: two keys go two cables.
    const here = this.wanted ?? view?.step?.name;
    const at = view?.cables.findIndex(({ name }) => name === here) ?? -1;
    const next = view?.cables[at + by];
    if (next !== undefined) this.go(next.name);
  }

  /** Ticks the cable, and goes to the next that is not; stays where none is left. */
  done(): void {
    const view = this.now?.view;
    const name = view?.step?.name;
    if (view === undefined || name === undefined) return;
    this.tick(name, true);
    const at = view.cables.findIndex((cable) => cable.name === name);
    const around = [...view.cables.slice(at + 1), ...view.cables.slice(0, at)];
    const next = around.find((cable) => !this.store.now.ticks.has(cable.name));
    if (next !== undefined) this.go(next.name);
  }

  /** Shows or hides what can be wrong. */
  turnDoubt(): void {
    if (this.now !== undefined) this.put({ ...this.now, isDoubted: !this.now.isDoubted });
  }

  tick(name: string, isOn: boolean): void {
    const names = new Set(this.store.now.ticks);
    if (isOn) names.add(name);
    else names.delete(name);
    this.putTicks(names);
    if (!this.ticks.write(names))
      this.store.put({
        message: 'This browser cannot store ticks: they last as long as this page is open.',
      });
  }

  /** Removes all ticks from the cables of this patch. */
  clear(): void {
    const names = new Set(this.store.now.ticks);
    for (const { name } of this.now?.view?.cables ?? []) names.delete(name);
    this.putTicks(names);
    this.ticks.write(names);
  }

  /** Shows the ticks in the cable list, which may have been replaced. */
  showTicks(): void {
    showTicks(this.store.now.ticks);
  }

  /** Asks again, since the texts have changed. */
  renew(): void {
    if (this.now !== undefined) this.request();
  }

  answered(answer: AlongAnswer): void {
    const { now } = this;
    if (now === undefined || answer.id !== this.asked) return;
    if (answer.type === 'along') {
      const before = now.view?.step?.name;
      const isSame = before !== undefined && before === answer.along.step?.name;
      this.wanted = answer.along.step?.name ?? this.wanted;
      this.put({
        ...now,
        view: answer.along,
        heard: undefined,
        isDoubted: isSame && now.isDoubted,
      });
      return;
    }
    this.put({ ...now, heard: answer.heard, sounding: this.sounding(answer.heard) });
    this.level();
  }

  private request(): void {
    this.asked = this.ask({ type: 'along', cable: this.wanted, done: [...this.store.now.ticks] });
  }

  /** Makes the sound safe to hear: half a patch may be louder than the whole, or direct current. */
  private sounding({ sound }: AlongHeard): Playable {
    const sampleRate = this.store.now.view?.loop.sampleRate;
    if (sound === undefined || sampleRate === undefined) return this.silence();
    const volts =
      sound.at === 'jack'
        ? sound.channels
        : sound.channels.map((channel) => channel.map((value) => FULL_SCALE_VOLTS * value));
    return {
      channels: heardChannels(volts, sampleRate),
      frames: sound.frames,
      sampleRate,
      level: 1,
    };
  }

  /** Silence as long as the loop, so that playing continues at its place. */
  private silence(): Playable {
    const { frames = 1, sampleRate = USUAL_RATE } = this.store.now.view?.loop ?? {};
    return { channels: [new Float32Array(frames)], frames, sampleRate, level: 1 };
  }

  private put(along: AlongState): void {
    this.store.put({ along });
  }

  private putTicks(ticks: ReadonlySet<string>): void {
    this.store.put({ ticks });
    showTicks(ticks);
  }
}
