/* oracle.c: numbers from Python, through one pipe and one temporary file. */
#include "oracle.h"

#include <stdlib.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

uint64_t test_oracle_seed(void)
{
	struct timespec now;
	const char *told = getenv("WET_ORACLE_SEED");
	clock_gettime(CLOCK_REALTIME, &now);
	uint64_t seed = told != NULL ? strtoull(told, NULL, 10) : (uint64_t)now.tv_nsec % 1000000;
	printf("again: WET_ORACLE_SEED=%llu\n", (unsigned long long)seed);
	fflush(stdout);
	return seed;
}

FILE *test_oracle_questions(void)
{
	return tmpfile();
}

static pid_t begin(const char *script, const char *topic, int in, int *ret_out)
{
	int ends[2];
	if (pipe(ends) != 0)
		return -1;
	fflush(NULL);
	pid_t child = fork();
	if (child == 0) {
		dup2(in, STDIN_FILENO);
		dup2(ends[1], STDOUT_FILENO);
		close(ends[0]);
		close(ends[1]);
		/* Two cores are for all: the linear algebra needs no threads of its own. */
		setenv("OPENBLAS_NUM_THREADS", "1", 1);
		execl("/usr/bin/python3", "/usr/bin/python3", script, topic, (char *)NULL);
		_exit(127);
	}
	close(ends[1]);
	*ret_out = ends[0];
	return child;
}

bool test_oracle_answers(const char *script, const char *topic, FILE *questions, double *ret_answers,
						 size_t n)
{
	int out = -1, status = 0;
	size_t count = 0;
	double more;
	if (fflush(questions) != 0 || fseek(questions, 0, SEEK_SET) != 0)
		return false;
	pid_t child = begin(script, topic, fileno(questions), &out);
	fclose(questions);
	if (child < 0)
		return false;
	FILE *answers = fdopen(out, "r");
	while (answers != NULL && count < n && fscanf(answers, "%lf", &ret_answers[count]) == 1)
		count++;
	bool is_over = answers != NULL && fscanf(answers, "%lf", &more) != 1 && feof(answers);
	if (answers != NULL)
		fclose(answers);
	if (waitpid(child, &status, 0) != child)
		return false;
	bool is_good = WIFEXITED(status) && WEXITSTATUS(status) == 0 && count == n && is_over;
	if (!is_good)
		fprintf(stderr,
				"%s %s: status %d, %zu of %zu numbers%s (are python3-iapws and python3-scipy installed?)\n",
				script, topic, status, count, n, is_over ? "" : " and more");
	return is_good;
}
