/* How long 20 000 casks of 100 kinds take to find places of 60 kinds, free to move and with a limit
 * on moves.  Prints seconds of one run; it judges nothing. */
#include "tests/bench/clock.h"
#include "tests/large_house.h"

#include <stdio.h>

static int run(const char *what, const struct stv_assignment_problem *problem)
{
    struct stv_assignment answer;
    double start_s = now_s();
    enum stv_status status = stv_assignment_solve(problem, &answer);
    double end_s = now_s();
    if (status != STV_OK)
        return 1;
    printf("20000 casks in 100 kinds, places of 60 kinds, %s: %.3f s, %zu moves, %.0f bottles%s\n",
           what, end_s - start_s, answer.n_moves, answer.merit_nd,
           answer.is_proven ? "" : " (not proven the best)");
    stv_assignment_free(&answer);
    return 0;
}

int main(void)
{
    struct large_house house;
    large_house_new(&house);
    int failed = run("a fill run", &house.problem);
    house.problem.present_idx = house.present_idx;
    failed |= run("all may move", &house.problem);
    house.problem.most_moves = 500;
    failed |= run("500 may move", &house.problem);
    large_house_end(&house);
    return failed;
}
