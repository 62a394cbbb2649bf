/* Preloaded into a process: while TEST_DISK_SWITCH's file says 1, nothing below the folder TEST_DISK can be written, as
   when the kernel makes a failing disk read-only under programs that have files open on it. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/types.h>
#include <unistd.h>

#define REAL(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))

static int read_only(void) {
  static volatile long *page;
  if (!page) {
    static long never = 0;
    const char *name = getenv("TEST_DISK_SWITCH");
    int file = name ? REAL(open)(name, O_RDONLY) : -1;
    void *mapped = file < 0 ? MAP_FAILED : mmap(0, sizeof(long), PROT_READ, MAP_SHARED, file, 0);
    page = mapped == MAP_FAILED ? &never : mapped;
  }
  return *page != 0;
}

static int below(const char *path) {
  const char *folder = getenv("TEST_DISK");
  return folder && path && !strncmp(path, folder, strlen(folder));
}

static int refused(int yes) {
  if (yes) errno = EROFS;
  return yes;
}

static int path_refused(const char *path) { return read_only() && refused(below(path)); }

static int file_refused(int file) {
  char link[64], path[PATH_MAX];
  if (!read_only()) return 0;
  snprintf(link, sizeof link, "/proc/self/fd/%d", file);
  ssize_t length = readlink(link, path, sizeof path - 1);
  if (length < 0) return 0;
  path[length] = 0;
  return refused(below(path));
}

#define OPEN(name, before, pass, path)                                    \
  int name(before const char *path, int flags, ...) {                     \
    va_list more;                                                         \
    va_start(more, flags);                                                \
    mode_t mode = flags & (O_CREAT | __O_TMPFILE) ? va_arg(more, mode_t) : 0; \
    va_end(more);                                                         \
    if (flags & (O_WRONLY | O_RDWR | O_CREAT) && path_refused(path)) return -1; \
    return REAL(name)(pass path, flags, mode);                            \
  }
#define NOTHING
#define COMMA ,
OPEN(open, NOTHING, NOTHING, path)
OPEN(open64, NOTHING, NOTHING, path)
OPEN(openat, int at COMMA, at COMMA, path)
OPEN(openat64, int at COMMA, at COMMA, path)

#define ON_FILE(type, name, parameters, arguments) \
  type name parameters { return file_refused(file) ? -1 : REAL(name) arguments; }
ON_FILE(ssize_t, write, (int file, const void *data, size_t size), (file, data, size))
ON_FILE(ssize_t, pwrite, (int file, const void *data, size_t size, off_t at), (file, data, size, at))
ON_FILE(ssize_t, pwrite64, (int file, const void *data, size_t size, off64_t at), (file, data, size, at))
ON_FILE(int, ftruncate, (int file, off_t size), (file, size))
ON_FILE(int, ftruncate64, (int file, off64_t size), (file, size))

#define ON_PATH(name, parameters, arguments) \
  int name parameters { return path_refused(path) ? -1 : REAL(name) arguments; }
ON_PATH(unlink, (const char *path), (path))
ON_PATH(mkdir, (const char *path, mode_t mode), (path, mode))
ON_PATH(rename, (const char *old, const char *path), (old, path))
ON_PATH(link, (const char *old, const char *path), (old, path))
ON_PATH(linkat, (int from, const char *old, int to, const char *path, int flags), (from, old, to, path, flags))
