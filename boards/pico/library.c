/*
 * What the C library asks of a system that has none. Nothing of this runs: the engine allocates from
 * its own arena and prints nothing.
 */
void *_sbrk(int bytes) {
    (void)bytes;
    return (void *)-1;
}
void _exit(int code) {
    (void)code;
    for (;;) {}
}
int _kill(int process, int signal) {
    (void)process;
    (void)signal;
    return -1;
}
int _getpid(void) { return 1; }
int _write(int file, const char *bytes, int count) {
    (void)file;
    (void)bytes;
    return count;
}
int _read(int file, char *bytes, int count) {
    (void)file;
    (void)bytes;
    (void)count;
    return 0;
}
int _close(int file) {
    (void)file;
    return -1;
}
int _fstat(int file, void *status) {
    (void)file;
    (void)status;
    return -1;
}
int _isatty(int file) {
    (void)file;
    return 1;
}
int _lseek(int file, int offset, int whence) {
    (void)file;
    (void)offset;
    (void)whence;
    return 0;
}
