/* SPDX-License-Identifier: Apache-2.0 */
/* worker.c - see worker.h. */
#include "broker/validator/worker.h"

#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include "broker/core/mechanics/predict.h"
#include "proto/base/require.h"

struct tl_worker {
    struct tl_predictor *predictor; /* the thread's own after start */
    pthread_t thread;
    bool started;
    int answered; /* eventfd */
    pthread_mutex_t lock;
    pthread_cond_t asked;
    /* under the lock */
    bool stop;
    bool question_waits;
    bool answer_waits;
    struct tl_ask question;
    struct tl_predicted answer;
};

/* False when asked to end. */
static bool
wait_for_question(struct tl_worker *worker, struct tl_ask *question)
{
    (void)pthread_mutex_lock(&worker->lock);
    while (!worker->stop && !worker->question_waits) {
        (void)pthread_cond_wait(&worker->asked, &worker->lock);
    }
    *question = worker->question;
    worker->question_waits = false;
    bool go_on = !worker->stop;
    (void)pthread_mutex_unlock(&worker->lock);
    return go_on;
}

static void
give_answer(struct tl_worker *worker, const struct tl_predicted *answer)
{
    (void)pthread_mutex_lock(&worker->lock);
    worker->answer = *answer;
    worker->answer_waits = true;
    (void)pthread_mutex_unlock(&worker->lock);
    (void)eventfd_write(worker->answered, 1);
}

static void *
compute(void *ctx)
{
    struct tl_worker *worker = ctx;
    struct tl_ask question;
    struct tl_predicted answer;
    while (wait_for_question(worker, &question)) {
        tl_predictor_run(worker->predictor, &question, &answer);
        give_answer(worker, &answer);
    }
    return NULL;
}

/* The signals are the owner's: the thread must not take one from its descriptor. */
static bool
start_thread(struct tl_worker *worker)
{
    sigset_t all;
    sigset_t before;
    (void)sigfillset(&all);
    if (pthread_sigmask(SIG_SETMASK, &all, &before) != 0) {
        return false;
    }
    worker->started = pthread_create(&worker->thread, NULL, compute, worker) == 0;
    TL_REQUIRE(pthread_sigmask(SIG_SETMASK, &before, NULL) == 0);
    return worker->started;
}

enum tl_err
tl_worker_open(const struct tl_config *config, struct tl_worker **out, const char **why)
{
    struct tl_worker *worker = calloc(1, sizeof *worker);
    *why = "out of memory";
    if (worker == NULL) {
        return TL_NOMEM;
    }
    TL_REQUIRE(pthread_mutex_init(&worker->lock, NULL) == 0);
    TL_REQUIRE(pthread_cond_init(&worker->asked, NULL) == 0);
    worker->answered = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    enum tl_err err = tl_predictor_open(config, &worker->predictor, why);
    if (err == TL_OK && (worker->answered < 0 || !start_thread(worker))) {
        *why = "no descriptor or no thread for the mechanics";
        err = TL_IO;
    }
    if (err != TL_OK) {
        tl_worker_close(&worker);
        return err;
    }
    *out = worker;
    return TL_OK;
}

void
tl_worker_close(struct tl_worker **closing)
{
    struct tl_worker *worker = *closing;
    if (worker == NULL) {
        return;
    }
    (void)pthread_mutex_lock(&worker->lock);
    worker->stop = true;
    (void)pthread_cond_signal(&worker->asked);
    (void)pthread_mutex_unlock(&worker->lock);
    if (worker->started) {
        (void)pthread_join(worker->thread, NULL);
    }
    if (worker->answered >= 0) {
        (void)close(worker->answered);
    }
    tl_predictor_close(&worker->predictor);
    (void)pthread_cond_destroy(&worker->asked);
    (void)pthread_mutex_destroy(&worker->lock);
    free(worker);
    *closing = NULL;
}

int
tl_worker_fd(const struct tl_worker *worker)
{
    return worker->answered;
}

void
tl_worker_ask(struct tl_worker *worker, const struct tl_ask *ask)
{
    (void)pthread_mutex_lock(&worker->lock);
    worker->question = *ask;
    worker->question_waits = true;
    (void)pthread_cond_signal(&worker->asked);
    (void)pthread_mutex_unlock(&worker->lock);
}

enum tl_err
tl_worker_take(struct tl_worker *worker, struct tl_predicted *predicted)
{
    eventfd_t count = 0;
    (void)eventfd_read(worker->answered, &count);
    (void)pthread_mutex_lock(&worker->lock);
    bool waits = worker->answer_waits;
    if (waits) {
        *predicted = worker->answer;
        worker->answer_waits = false;
    }
    (void)pthread_mutex_unlock(&worker->lock);
    return waits ? TL_OK : TL_EMPTY;
}
