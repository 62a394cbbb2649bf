/* Preloaded into a process: its wall clock is off by as many seconds as TEST_CLOCK_AHEAD's file says.
   The monotonic clock goes on as it did, as when an administrator sets the time. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/time.h>
#include <time.h>

static volatile long *ahead(void) {
  static volatile long *page;
  if (!page) {
    const char *name = getenv("TEST_CLOCK_AHEAD");
    int file = name ? open(name, O_RDONLY) : -1;
    void *mapped = file < 0 ? MAP_FAILED : mmap(0, sizeof(long), PROT_READ, MAP_SHARED, file, 0);
    static long none = 0;
    page = mapped == MAP_FAILED ? &none : mapped;
  }
  return page;
}

int clock_gettime(clockid_t which, struct timespec *at) {
  static int (*real)(clockid_t, struct timespec *);
  if (!real) real = dlsym(RTLD_NEXT, "clock_gettime");
  int failed = real(which, at);
  if (!failed && (which == CLOCK_REALTIME || which == CLOCK_REALTIME_COARSE)) at->tv_sec += *ahead();
  return failed;
}

int gettimeofday(struct timeval *at, void *zone) {
  struct timespec now;
  (void)zone;
  clock_gettime(CLOCK_REALTIME, &now);
  at->tv_sec = now.tv_sec;
  at->tv_usec = now.tv_nsec / 1000;
  return 0;
}

time_t time(time_t *at) {
  struct timespec now;
  clock_gettime(CLOCK_REALTIME, &now);
  if (at) *at = now.tv_sec;
  return now.tv_sec;
}
