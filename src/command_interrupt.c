/*
 * command_interrupt.c - told to stop: nothing half-made is left.
 *
 * The signals are blocked in all threads, and one thread waits for them. It is an ordinary thread,
 * so it may do what a signal handler may not: look through a folder and remove files. Nothing has
 * to be asked in the midst of the work, and stopping takes no longer than removing the files.
 */
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <unistd.h>

#include "command.h"

static struct {
    const char *folder; /* being written */
    sigset_t waited_for, before;
    pthread_t thread;
    bool running;
} guard;

/* As if the signal had not been caught: whoever started us shall see that it was the signal. */
static _Noreturn void end_by(int number) {
    sigset_t one;
    sigemptyset(&one);
    sigaddset(&one, number);
    signal(number, SIG_DFL);
    pthread_sigmask(SIG_UNBLOCK, &one, NULL);
    raise(number);
    _exit(128 + number); /* the shell's number for it; not reached */
}

static void *wait_for_signal(void *unused) {
    int number;
    (void)unused;
    if (sigwait(&guard.waited_for, &number) != 0)
        return NULL;
    pthread_setcancelstate(PTHREAD_CANCEL_DISABLE, NULL);
    tl_draft_abandon(guard.folder);
    flockfile(tl_command_terminal()); /* no step of the progress after this */
    tl_command_clear_step();
    tl_command_fail(0, "Stopped. Nothing half-made is left; run it again for the result.");
    end_by(number);
}

void tl_command_guard(const char *folder) {
    static const int numbers[] = {SIGINT, SIGTERM, SIGHUP};
    guard.folder = folder;
    sigemptyset(&guard.waited_for);
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        struct sigaction action;
        /* Who started us may have wanted it ignored, as nohup does. */
        if (sigaction(numbers[i], NULL, &action) == 0 && action.sa_handler != SIG_IGN)
            sigaddset(&guard.waited_for, numbers[i]);
    }
    pthread_sigmask(SIG_BLOCK, &guard.waited_for, &guard.before);
    guard.running = pthread_create(&guard.thread, NULL, wait_for_signal, NULL) == 0;
    if (!guard.running) /* then they end us as ever, and the next run clears up */
        pthread_sigmask(SIG_SETMASK, &guard.before, NULL);
}

void tl_command_unguard(void) {
    if (!guard.running)
        return;
    /* If it is clearing up it does not hear this, and this thread waits here for the end. */
    pthread_cancel(guard.thread);
    pthread_join(guard.thread, NULL);
    pthread_sigmask(SIG_SETMASK, &guard.before, NULL);
    guard.running = false;
}
