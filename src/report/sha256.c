/* sha256.c - SHA-256.
 *
 * Source    FIPS 180-4: functions 4.1.2, constants 4.2.2, padding 5.1.1, initial value 5.3.3,
 *           computation 6.2.2; base 64: RFC 4648, section 4.
 * Pinned by tests/report/test_page.c, the examples that NIST publishes beside the standard.
 */
#include "sha256.h"

#include <string.h>

enum { BLOCK = 64, LENGTH_AT = 56 };

static const uint32_t K[64] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

static uint32_t turned(uint32_t x, unsigned bits) {
  return x >> bits | x << (32 - bits);
}

static void take_block(uint32_t state[8], const uint8_t *block) {
  uint32_t w[64], s[8];
  for (size_t t = 0; t < 16; t++)
    w[t] = (uint32_t)block[4 * t] << 24 | (uint32_t)block[4 * t + 1] << 16 |
           (uint32_t)block[4 * t + 2] << 8 | block[4 * t + 3];
  for (size_t t = 16; t < 64; t++) {
    const uint32_t a = w[t - 15], b = w[t - 2];
    w[t] = (turned(b, 17) ^ turned(b, 19) ^ b >> 10) + w[t - 7] +
           (turned(a, 7) ^ turned(a, 18) ^ a >> 3) + w[t - 16];
  }
  memcpy(s, state, sizeof s);
  for (size_t t = 0; t < 64; t++) {
    const uint32_t one = s[7] + (turned(s[4], 6) ^ turned(s[4], 11) ^ turned(s[4], 25)) +
                         ((s[4] & s[5]) ^ (~s[4] & s[6])) + K[t] + w[t];
    const uint32_t two = (turned(s[0], 2) ^ turned(s[0], 13) ^ turned(s[0], 22)) +
                         ((s[0] & s[1]) ^ (s[0] & s[2]) ^ (s[1] & s[2]));
    memmove(s + 1, s, 7 * sizeof s[0]);
    s[4] += one;
    s[0] = one + two;
  }
  for (size_t i = 0; i < 8; i++) state[i] += s[i];
}

void ta_sha256(const void *bytes, size_t length, uint8_t digest[TA_SHA256_BYTES]) {
  uint32_t state[8] = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                       0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
  const uint8_t *byte = bytes;
  uint8_t tail[2 * BLOCK] = {0};
  size_t left = length;
  for (; left >= BLOCK; left -= BLOCK, byte += BLOCK) take_block(state, byte);
  if (left > 0) memcpy(tail, byte, left);
  tail[left] = 0x80;
  const size_t size = left < LENGTH_AT ? BLOCK : 2 * BLOCK;
  for (size_t i = 0; i < 8; i++) tail[size - 1 - i] = (uint8_t)((uint64_t)length * 8 >> (8 * i));
  for (size_t at = 0; at < size; at += BLOCK) take_block(state, tail + at);
  for (size_t i = 0; i < TA_SHA256_BYTES; i++)
    digest[i] = (uint8_t)(state[i / 4] >> (24 - 8 * (i % 4)));
}

const char *ta_sha256_base64(const void *bytes, size_t length, char text[TA_SHA256_BASE64_MAX]) {
  static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  uint8_t digest[TA_SHA256_BYTES + 1] = {0}; /* a whole number of threes */
  ta_sha256(bytes, length, digest);
  size_t used = 0;
  for (size_t i = 0; i < sizeof digest; i += 3) {
    const uint32_t three = (uint32_t)digest[i] << 16 | (uint32_t)digest[i + 1] << 8 | digest[i + 2];
    for (unsigned k = 0; k < 4; k++) text[used++] = digits[three >> (18 - 6 * k) & 63];
  }
  text[used - 1] = '='; /* the byte that was none */
  text[used] = '\0';
  return text;
}
