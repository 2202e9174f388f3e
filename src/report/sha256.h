/* sha256.h - the hash by which a page names the styles and scripts that it lets in. */
#ifndef THINAIR_REPORT_SHA256_H
#define THINAIR_REPORT_SHA256_H

#include <stddef.h>
#include <stdint.h>

enum { TA_SHA256_BYTES = 32, TA_SHA256_BASE64_MAX = 45 };

/** SHA-256 of bytes.  Source: FIPS 180-4, section 6.2. */
void ta_sha256(const void *bytes, size_t length, uint8_t digest[TA_SHA256_BYTES]);

/** The same in base 64 (RFC 4648, section 4), as a content security policy names it. */
const char *ta_sha256_base64(const void *bytes, size_t length, char text[TA_SHA256_BASE64_MAX]);

#endif
