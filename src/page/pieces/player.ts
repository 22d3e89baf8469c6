/**
 * Plays a loop round and round. Another loop takes over at the same place by a short crossfade of two
 * sources: a linear one, which adds up to the sound itself where both are the same.
 */

import { exactFrom, untilExact } from './exact-frames.ts';

export interface Playable {
  /** The part that exists so far; the rest is silent. */
  readonly channels: readonly Float32Array<ArrayBuffer>[];
  readonly frames: number;
  readonly sampleRate: number;
  /** Factor that makes it as loud as others; 1 as it is. */
  readonly level: number;
  /** The same as a buffer, where it is one already. */
  readonly buffer?: AudioBuffer;
}

interface PlayerVoice {
  readonly source: AudioBufferSourceNode;
  readonly gain: GainNode;
  readonly level: number;
}

/** s: slow enough not to click. */
const FADE = 0.005;
/** s between a request and its sound, on top of the browser's own latency; a busy machine needs more. */
const AHEAD = 0.004;
const MOST_AHEAD = 0.16;
/** ms of silence after which the audio context is suspended, since it costs processor time even then. */
const WAKEFUL = 10_000;

export class Player {
  /** Is told when it starts and stops. */
  private readonly onChange: () => void;
  /** Is told when it has come to its end by itself. */
  private readonly onEnd: () => void;
  private context: AudioContext | undefined;
  private master: GainNode | undefined;
  private loop: Playable | undefined;
  private voice: PlayerVoice | undefined;
  /** Sources that play or are about to, those that fade out too. */
  private readonly sounding = new Set<AudioBufferSourceNode>();
  private rest: ReturnType<typeof setTimeout> | undefined;
  /** The context's time at which the loop was, or would have been, at its first frame. */
  private origin = 0;
  /** The context's time of the last start or seek. */
  private begun = 0;
  /** When the last crossfade ends: the next begins no earlier. */
  private settled = 0;
  /** Its place while it does not play, as a share of the loop. */
  private parked = 0;
  private volume = 0;
  /** s between a request and its sound. */
  private ahead = AHEAD;
  private around = true;

  constructor(onChange: () => void, onEnd: () => void = () => {}) {
    this.onChange = onChange;
    this.onEnd = onEnd;
  }

  get isPlaying(): boolean {
    return this.voice !== undefined;
  }

  /** Sets the loudness of all, a factor, without a click. */
  setVolume(volume: number): void {
    this.volume = volume;
    const { context, master } = this;
    if (context === undefined || master === undefined) return;
    if (context.state === 'suspended') {
      // The context's time stands still: a ramp would be heard with the next sound.
      master.gain.cancelScheduledValues(0);
      master.gain.value = volume;
    } else {
      master.gain.setTargetAtTime(volume, context.currentTime, 0.01);
      this.restLater();
    }
  }

  /** Sets whether it repeats from the start when it comes to the end. */
  setAround(around: boolean): void {
    this.around = around;
    if (this.voice !== undefined) this.voice.source.loop = around;
  }

  /**
   * Takes another loop, and continues with it at the same place. A loop of another length continues at the
   * same share of its length.
   */
  take(loop: Playable): void {
    const before = this.loop;
    this.loop = loop;
    if (before === undefined || this.voice === undefined || this.context === undefined) return;
    if (this.context.sampleRate !== loop.sampleRate) {
      this.stop();
      return;
    }
    this.sound((at) => this.shareAt(at, before));
  }

  /** Starts at the current place. A person's gesture must be the cause, or browsers keep it silent. */
  play(): void {
    if (this.loop === undefined || this.isPlaying) return;
    this.awaken(this.loop.sampleRate);
    this.begin();
    this.onChange();
  }

  stop(): void {
    if (this.voice === undefined || this.context === undefined) return;
    this.parked = this.share() % 1;
    this.fadeOut(this.voice, Math.max(this.context.currentTime + this.ahead, this.settled));
    this.voice = undefined;
    this.onChange();
  }

  /** Goes to a share of the loop, 0 to 1. */
  seek(share: number): void {
    this.parked = Math.min(Math.max(share, 0), 1 - 1e-9);
    if (this.isPlaying) this.begin();
    this.onChange();
  }

  /** Where the loop is as one hears it, 0 to 1. */
  share(): number {
    if (this.context === undefined || this.loop === undefined || this.voice === undefined)
      return this.parked;
    return this.shareAt(Math.max(this.timeHeard(this.context), this.begun), this.loop);
  }

  /** Whether a loop that is rendered between two frames could play on from here for some seconds. */
  covers(
    start: number,
    ready: number,
    frames: number,
    sampleRate: number,
    seconds: number,
  ): boolean {
    const next = this.next() * frames;
    return next >= start && (ready >= frames || next + seconds * sampleRate <= ready);
  }

  /** The share of the loop at which a loop that is taken now would start. */
  next(): number {
    const { context, loop } = this;
    const isMoving = context !== undefined && loop !== undefined && this.isPlaying;
    return isMoving ? this.shareAt(context.currentTime + this.ahead, loop) : this.parked;
  }

  /** Makes the context ready. If a sound must be read first, call this before that, in the person's gesture. */
  awaken(sampleRate: number): void {
    if (this.context?.sampleRate !== sampleRate) {
      void this.context?.close();
      this.sounding.clear();
      this.settled = 0;
      this.context = new AudioContext({ sampleRate, latencyHint: 'interactive' });
      this.master = new GainNode(this.context, { gain: this.volume });
      this.master.connect(this.context.destination);
      this.ahead = this.context.baseLatency + AHEAD;
    }
    // A source that is started before the context's time runs begins on time, and so is not late.
    void this.context.resume();
    this.restLater();
  }

  private restLater(): void {
    clearTimeout(this.rest);
    this.rest = setTimeout(() => {
      if (this.sounding.size === 0) void this.context?.suspend();
    }, WAKEFUL);
  }

  private start(source: AudioBufferSourceNode, at: number, offset: number): void {
    source.start(at, offset);
    this.sounding.add(source);
    source.addEventListener('ended', () => {
      this.sounding.delete(source);
      this.restLater();
    });
  }

  /** Plays something once, beside the loop. A person's gesture must be the cause, as for `play`. */
  strike(channels: Playable['channels'], sampleRate: number): void {
    this.awaken(sampleRate);
    const { context, master } = this;
    const frames = channels[0]?.length ?? 0;
    if (context === undefined || master === undefined || frames === 0) return;
    const buffer = bufferOf({ channels, frames, sampleRate, level: 1 });
    const source = new AudioBufferSourceNode(context, { buffer });
    source.connect(master);
    this.start(source, 0, 0);
  }

  private begin(): void {
    const share = this.parked;
    this.sound(() => share, false);
    this.begun = this.settled - FADE;
  }

  /**
   * Starts a source of the loop.
   * @param shareAt gives the share of the loop to start from, by the context's time of the start.
   * @param isMoving whether that share depends on the time.
   */
  private sound(shareAt: (time: number) => number, isMoving = true): void {
    const { context, master, loop } = this;
    if (context === undefined || master === undefined || loop === undefined) return;
    const { frames, sampleRate, level } = loop;
    const source = new AudioBufferSourceNode(context, {
      buffer: bufferOf(loop),
      loop: this.around,
    });
    const gain = new GainNode(context, { gain: 0 });
    source.connect(gain).connect(master);
    source.onended = () => this.ended(source);
    // From here to `start` nothing slow may happen.
    const soon = Math.max(context.currentTime + this.ahead, this.settled);
    const soonest = Math.ceil(soon * sampleRate);
    const share = shareAt(soonest / sampleRate);
    // A loop that is over by then does not start again.
    if (!this.around && share >= 1) {
      this.finish(soonest / sampleRate);
      return;
    }
    const nearest = Math.round(share * frames);
    // Wait for exact frames, so that samples are neither shifted nor mixed.
    const later = isMoving ? untilExact(soonest, nearest, sampleRate) : 0;
    const at = exactFrom(soonest + later, sampleRate) / sampleRate;
    const place = exactFrom(nearest + later, sampleRate);
    const frame = this.around ? place % frames : Math.min(place, frames - 1);
    gain.gain.setValueAtTime(0, at);
    gain.gain.linearRampToValueAtTime(level, at + FADE);
    if (this.voice !== undefined) this.fadeOut(this.voice, at);
    this.start(source, at, frame / sampleRate);
    const isLate = context.currentTime >= at;
    this.voice = { source, gain, level };
    this.origin = at - frame / sampleRate;
    this.settled = at + FADE;
    // A source that starts late stays behind as long as it plays: start another, with more time ahead.
    if (!isLate || this.ahead >= MOST_AHEAD) return;
    this.ahead = Math.min(MOST_AHEAD, this.ahead * 2);
    if (isMoving) {
      this.sound((time) => this.shareAt(time, loop));
      return;
    }
    // What begins has not been heard yet, and begins whole.
    gain.disconnect();
    source.stop();
    this.voice = undefined;
    this.sound(shareAt, false);
  }

  private fadeOut({ source, gain, level }: PlayerVoice, at: number): void {
    gain.gain.setValueAtTime(level, at);
    gain.gain.linearRampToValueAtTime(0, at + FADE);
    source.stop(at + FADE);
    source.onended = () => gain.disconnect();
    this.settled = Math.max(this.settled, at + FADE);
  }

  private ended(source: AudioBufferSourceNode): void {
    if (this.voice?.source !== source) return;
    this.voice.gain.disconnect();
    this.over();
  }

  private finish(at: number): void {
    if (this.voice !== undefined) this.fadeOut(this.voice, at);
    this.over();
  }

  private over(): void {
    this.voice = undefined;
    this.parked = 0;
    this.onChange();
    this.onEnd();
  }

  private shareAt(time: number, loop: Playable): number {
    const rounds = ((time - this.origin) * loop.sampleRate) / loop.frames;
    return this.around ? rounds - Math.floor(rounds) : Math.min(Math.max(rounds, 0), 1);
  }

  /** The context's time of the sound that leaves the loudspeaker now; it also advances within an audio block. */
  private timeHeard(context: AudioContext): number {
    const { contextTime, performanceTime } = context.getOutputTimestamp();
    if (contextTime === undefined || performanceTime === undefined || contextTime === 0)
      return context.currentTime;
    return Math.min(
      context.currentTime,
      contextTime + (performance.now() - performanceTime) / 1000,
    );
  }
}

function bufferOf({ channels, frames, sampleRate, buffer: made }: Playable): AudioBuffer {
  if (made !== undefined) return made;
  const buffer = new AudioBuffer({ numberOfChannels: channels.length, length: frames, sampleRate });
  channels.forEach((samples, index) => {
    buffer.copyToChannel(samples, index);
  });
  return buffer;
}
