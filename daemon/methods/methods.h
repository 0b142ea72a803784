/* methods.h: the table of methods: decode parameters -> call -> encode the result.
 *
 * Depends on wire, darkroom, shelf and the pure rooms. An answer is given at once or later, by ticket, through the client's
 * number: a client that has gone meanwhile is simply not found. */
#ifndef WET_METHODS_H
#define WET_METHODS_H

#include "darkroom/darkroom.h"
#include "wire/rpc.h"

struct wet_importing;
struct wet_formulary;
struct wet_safety;
struct wet_config;

struct wet_methods {
	struct wet_darkroom *darkroom;
	/* The connection of a client's number; NULL if it has gone. */
	struct wet_rpc *(*find_client)(void *ctx, uint64_t client_id);
	/* From now on the client is told what changes. */
	void (*follow)(void *ctx, uint64_t client_id);
	void *ctx;
	struct wet_importing *importing; /* NULL: no import is under way */
	const struct wet_formulary *formulary; /* never NULL */
	const struct wet_safety *safety;       /* never NULL */
	const struct wet_config *config;       /* NULL: none */
	json_t *shelf_meets;    /* of place.c; NULL: not yet asked */
	uint64_t shelf_version; /* of the shelf it was made of */
};
/* When nothing is served any more, and no job of the ledger is under way. */
void wet_methods_release(struct wet_methods *methods);

struct wet_call {
	struct wet_methods *methods;
	struct wet_rpc *rpc;
	wet_rpc_ticket ticket;
	uint64_t client_id;
	uint32_t uid;
	json_t *params; /* borrowed; an object (never NULL) */
};

struct wet_method {
	const char *name; /* noun.verb; the table is sorted by it */
	void (*serve)(struct wet_call *call);
	const char *params, *help;
};
const struct wet_method *wet_method_table(size_t *ret_count);

void wet_methods_serve(struct wet_methods *methods, struct wet_rpc *rpc, wet_rpc_ticket ticket,
					   uint64_t client_id, uint32_t uid, const char *method, json_t *params);

/* The whole state of one run, for replies and followers. NULL without memory. */
json_t *wet_run_snapshot(struct wet_darkroom *darkroom, struct wet_live *live);

/* Its stages with their times, as run.stages tells them. */
json_t *wet_run_stages(struct wet_live *live);

#endif
