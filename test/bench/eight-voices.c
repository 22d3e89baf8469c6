/*
 * Eight voices of noise, filter and amplifier by hand, all in one loop: the yardstick for the engine. The
 * same sums as the circuits do. Arguments: rounds, then four seeds a voice. Prints the least processor
 * time, ns a sample, and a sum of samples, by which `eight-voices.mjs` sees that both make the same sound.
 */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define VOICES 8
#define BLOCK 128
#define BLOCKS 3750
#define RATE 48000.0
#define LAYERS 256

static const double TAIL = 3.6541528853610088, AREA = 0.00492867323399;
static double edges[LAYERS + 1], scales[LAYERS + 1], heights[LAYERS + 1];

static double bell(double x) { return exp(-0.5 * x * x); }

static void make_tables(void) {
  edges[0] = AREA / bell(TAIL);
  edges[1] = TAIL;
  for (int l = 2; l < LAYERS; l++) edges[l] = sqrt(-2 * log(bell(edges[l - 1]) + AREA / edges[l - 1]));
  for (int l = 1; l <= LAYERS; l++) heights[l] = bell(edges[l]);
  for (int l = 0; l <= LAYERS; l++) scales[l] = edges[l] / 8388608;
}

typedef struct {
  uint32_t s0, s1, s2, s3;
  double level, most;
  double low, band, keep, pass, reach, damping, low_high, q, cutoff, tuned;
  double per_volt, most_gain;
} Voice;

static inline uint32_t bits(Voice *v) {
  uint32_t s0 = v->s0, s1 = v->s1, s2 = v->s2 ^ s0, s3 = v->s3 ^ s1, sum = s0 + v->s3;
  v->s0 = s0 ^ s3;
  v->s1 = s1 ^ s2;
  v->s2 = s2 ^ (s1 << 9);
  v->s3 = (s3 << 11) | (s3 >> 21);
  return ((sum << 7) | (sum >> 25)) + s0;
}

static double uniform(Voice *v) { return (bits(v) + 0.5) * 2.3283064365386963e-10; }
static double gaussian(Voice *v);

static __attribute__((noinline)) double outside(Voice *v, int layer, double x) {
  if (layer > 0) {
    double height = heights[layer] + (heights[layer + 1] - heights[layer]) * uniform(v);
    return height < bell(x) ? x : gaussian(v);
  }
  for (;;) {
    double a = -log(uniform(v)) / TAIL, b = -log(uniform(v));
    if (2 * b <= a * a) continue;
    double far = TAIL + a < v->most ? TAIL + a : v->most;
    return x < 0 ? -far : far;
  }
}

static inline double gaussian(Voice *v) {
  int32_t b = (int32_t)bits(v);
  int layer = b & 255;
  double x = ((b >> 8) + 0.5) * scales[layer];
  return fabs(x) < edges[layer + 1] ? x : outside(v, layer, x);
}

static inline double to_rails(double x) { return x > 12 ? 12 : x < -12 ? -12 : x; }

static double tan_squared(double place) {
  double t = tan(M_PI * place);
  return t * t;
}

/* The matched section of src/circuits/dsp/matched.ts, for low alone. */
static __attribute__((noinline)) void tune(Voice *v, double control) {
  v->tuned = control;
  double cutoff = fmin(v->cutoff * exp2(control), 0.45), q = v->q;
  double radius = exp(-M_PI * cutoff / q);
  double sine = sin(M_PI * cutoff * sqrt(fmax(0, 1 - 0.25 / (q * q))));
  double near = (1 - radius) * (1 - radius) + 4 * radius * sine * sine;
  double far = (1 + radius) * (1 + radius) - 4 * radius * sine * sine;
  double square = near / far, g = sqrt(square);
  v->damping = 2 * (1 - radius) * (1 + radius) / (far * g);
  double place = 0.36, t = tan_squared(place), x = place / cutoff;
  double rest = square - t, loss = v->damping * g, away = 1 - x * x;
  double power = (rest * rest + loss * loss * t) / (away * away + (x / q) * (x / q));
  double low2 = (sqrt(power) / square - 1) / t;
  double twice = 2 / (1 + g * (g + v->damping));
  v->keep = twice - 1;
  v->pass = twice * g;
  v->reach = twice * g * g;
  v->low_high = low2 * g * g;
}

static inline double filtered(Voice *v, double in, double control) {
  if (control != v->tuned) tune(v, control);
  double next_band = v->keep * v->band + (v->pass * in - v->pass * v->low);
  double next_low = (1 - v->reach) * v->low + (v->reach * in + v->pass * v->band);
  double first = 0.5 * (v->band + next_band), second = 0.5 * (v->low + next_low);
  v->band = next_band;
  v->low = next_low;
  double plain = in - v->damping * first - second;
  return to_rails(second - v->low_high * plain);
}

static inline double amplified(Voice *v, double in, double control) {
  double gain = control * v->per_volt;
  return gain > 0 ? to_rails(in * (gain < v->most_gain ? gain : v->most_gain)) : 0;
}

int main(int count, char **given) {
  if (count != 2 + 4 * VOICES) return 2;
  int rounds = atoi(given[1]);
  /* One output of 1 kohm into one input of 100 kohm, and into eight. */
  const double one = 100.0 / 101, eight = 1 / (1 + VOICES * 0.01);
  static Voice voices[VOICES];
  static double out[BLOCK], steady[BLOCK], zero[BLOCK];
  make_tables();
  for (int i = 0; i < BLOCK; i++) steady[i] = 4 * eight;
  double least = INFINITY, sum = 0;
  for (int round = 0; round < rounds; round++) {
    for (int k = 0; k < VOICES; k++) {
      uint32_t s[4];
      for (int j = 0; j < 4; j++) s[j] = (uint32_t)strtoul(given[2 + 4 * k + j], NULL, 10);
      voices[k] = (Voice){s[0], s[1], s[2], s[3], 1.25, 12 / 1.25, .q = 2,
                          .cutoff = 500.0 * (k + 1) / RATE, .tuned = NAN, .per_volt = 0.2,
                          .most_gain = 1.9952623149688795};
    }
    struct timespec start, end;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &start);
    sum = 0;
    for (int block = 0; block < BLOCKS; block++) {
      for (int i = 0; i < BLOCK; i++) {
        double s[VOICES];
        for (int k = 0; k < VOICES; k++) {
          Voice *v = &voices[k];
          double x = filtered(v, v->level * gaussian(v) * one, zero[i]) * one;
          s[k] = amplified(v, x, steady[i]) * one;
        }
        out[i] = to_rails(((s[0] + s[1]) + (s[2] + s[3])) + ((s[4] + s[5]) + (s[6] + s[7])));
      }
      sum += out[7] * one * 0.1;
    }
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &end);
    double ns = (end.tv_sec - start.tv_sec) * 1e9 + (end.tv_nsec - start.tv_nsec);
    least = fmin(least, ns / ((double)BLOCKS * BLOCK));
  }
  printf("%.17g %.17g\n", least, sum);
}
