/**
 * AssemblyScript's built-in functions in plain JavaScript, so that a test or a debugger can step through a circuit.
 * Operations on two samples at once work here on one after the other, on the same bits.
 */

/** 128 bits, as two numbers; few look at the bits. */
class Vector {
  readonly x: number;
  readonly y: number;
  /** Where it was made of bits: a number keeps those of a NaN no longer than it must. */
  readonly made: Uint32Array | undefined;

  constructor(x: number, y: number, made?: Uint32Array) {
    this.x = x;
    this.y = y;
    this.made = made;
  }

  get bits(): Uint32Array {
    if (this.made !== undefined) return this.made;
    const bits = new Uint32Array(4);
    const numbers = new Float64Array(bits.buffer);
    numbers[0] = this.x;
    numbers[1] = this.y;
    return bits;
  }
}

const vector = (lane0: number, lane1: number): Vector => new Vector(lane0, lane1);

function ofBits(bits: Uint32Array): Vector {
  const [x, y] = new Float64Array(bits.buffer);
  return new Vector(x as number, y as number, bits);
}

const each =
  (f: (a: number) => number) =>
  (v: Vector): Vector =>
    new Vector(f(v.x), f(v.y));

const pairwise =
  (f: (a: number, b: number) => number) =>
  (a: Vector, b: Vector): Vector =>
    new Vector(f(a.x, b.x), f(a.y, b.y));

/** All bits of a lane where it holds, otherwise none. */
const compared =
  (f: (a: number, b: number) => boolean) =>
  (a: Vector, b: Vector): Vector => {
    const bits = new Uint32Array(4);
    if (f(a.x, b.x)) bits.fill(2 ** 32 - 1, 0, 2);
    if (f(a.y, b.y)) bits.fill(2 ** 32 - 1, 2, 4);
    return ofBits(bits);
  };

const bitwise =
  (f: (a: number, b: number, c: number) => number) =>
  (a: Vector, b: Vector, c = b): Vector => {
    const bits = new Uint32Array(4);
    const [one, other, third] = [a.bits, b.bits, c.bits];
    for (let i = 0; i < bits.length; i++)
      bits[i] = f(one[i] as number, other[i] as number, third[i] as number);
    return ofBits(bits);
  };

/** Memory: each list has addresses of its own, so many bytes apart. */
const APART = 2 ** 32;
const addresses = new WeakMap<Float64Array, number>();
const lists: WeakRef<Float64Array>[] = [];

function addressOf(list: Float64Array): number {
  const known = addresses.get(list);
  if (known !== undefined) return known;
  const address = lists.length * APART;
  lists.push(new WeakRef(list));
  addresses.set(list, address);
  return address;
}

/** The bytes from an address on. */
function at(address: number, bytes: number): Uint8Array {
  const list = lists[Math.floor(address / APART)]?.deref();
  if (list === undefined) throw new Error('no list at this address');
  return new Uint8Array(list.buffer, list.byteOffset + (address % APART), bytes);
}

/** The list that begins at an address. */
function listAt(address: number): Float64Array {
  const list = lists[Math.floor(address / APART)]?.deref();
  if (list === undefined) throw new Error('no list at this address');
  return list.subarray((address % APART) / 8);
}

const laneBits = ({ bits }: Vector, lane: number): boolean =>
  (bits[2 * lane] as number) !== 0 || (bits[2 * lane + 1] as number) !== 0;

Object.assign(globalThis, {
  StaticArray: Float64Array,
  f64: (x: number) => x,
  i32: (x: number) => x | 0,
  u32: (x: number) => x >>> 0,
  ctz: (x: number) => 31 - Math.clz32(x & -x),
  changetype: (value: Float64Array | number) =>
    typeof value === 'number' ? listAt(value) : addressOf(value),
  memory: {
    copy: (to: number, from: number, bytes: number) => at(to, bytes).set(at(from, bytes).slice()),
    fill: (to: number, byte: number, bytes: number) => at(to, bytes).fill(byte),
  },
  f64x2: Object.assign(vector, {
    splat: (x: number) => vector(x, x),
    extract_lane: (v: Vector, lane: number) => (lane === 0 ? v.x : v.y),
    replace_lane: (v: Vector, lane: number, x: number) =>
      lane === 0 ? vector(x, v.y) : vector(v.x, x),
    add: pairwise((a, b) => a + b),
    sub: pairwise((a, b) => a - b),
    mul: pairwise((a, b) => a * b),
    div: pairwise((a, b) => a / b),
    pmin: pairwise((a, b) => (b < a ? b : a)),
    pmax: pairwise((a, b) => (a < b ? b : a)),
    sqrt: each(Math.sqrt),
    abs: each(Math.abs),
    neg: each((a) => -a),
    ceil: each(Math.ceil),
    floor: each(Math.floor),
    lt: compared((a, b) => a < b),
    le: compared((a, b) => a <= b),
    gt: compared((a, b) => a > b),
    ge: compared((a, b) => a >= b),
    eq: compared((a, b) => a === b),
    ne: compared((a, b) => a !== b),
  }),
  i64x2: {
    bitmask: ({ bits }: Vector) =>
      ((bits[1] as number) >>> 31) | (((bits[3] as number) >>> 31) << 1),
    all_true: (v: Vector) => laneBits(v, 0) && laneBits(v, 1),
  },
  v128: {
    load(address: number, offset = 0): Vector {
      const bits = new Uint32Array(4);
      new Uint8Array(bits.buffer).set(at(address + offset, 16));
      return ofBits(bits);
    },
    store: (address: number, v: Vector, offset = 0) =>
      at(address + offset, 16).set(new Uint8Array(v.bits.buffer)),
    shuffle: (a: Vector, b: Vector, ...lanes: number[]) => {
      const all = [a.x, a.y, b.x, b.y];
      return vector(all[lanes[0] as number] as number, all[lanes[1] as number] as number);
    },
    and: bitwise((a, b) => a & b),
    or: bitwise((a, b) => a | b),
    andnot: bitwise((a, b) => a & ~b),
    bitselect: bitwise((a, b, mask) => (a & mask) | (b & ~mask)),
    any_true: (v: Vector) => laneBits(v, 0) || laneBits(v, 1),
  },
});
