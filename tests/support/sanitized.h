// FITWRIGHT_SANITIZED where a sanitizer of memory or threads is built in, by either compiler.
#pragma once

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define FITWRIGHT_SANITIZED 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
#define FITWRIGHT_SANITIZED 1
#endif
#endif
