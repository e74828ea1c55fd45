/**
 * What is changed in the engine's one source file (Duktape 2.7.0, duktape.c) when the image is built: a text
 * that must be there exactly once, what takes its place, and why. The language stays what it was; the conformance
 * tests run on the engine as changed. Cycles in the reasons are measured on the emulated chip.
 */

/** Operations between two looks at the clock: about a millisecond. */
const OPERATIONS_PER_CHECK = 1024;

/** What is changed in the engine's one source file. Each text must be there exactly once. */
export const ENGINE_PATCHES = [
  {
    why: 'the clock is looked at each millisecond, not each quarter of a second',
    find: '#define DUK_HTHREAD_INTCTR_DEFAULT (256L * 1024L)',
    replace: `\n#define DUK_HTHREAD_INTCTR_DEFAULT (${OPERATIONS_PER_CHECK}L)`,
  },
  {
    why: 'the core makes nothing with `new`: no prototype object for each closure',
    find: '	if (add_auto_proto) {',
    replace: 'if (0) {',
  },
  {
    why: 'nor for each function that is loaded',
    find: `	if (DUK_HOBJECT_HAS_CONSTRUCTABLE((duk_hobject *) h_fun)) {
		/* Restore empty external .prototype only for constructable`,
    replace: 'if (0) { /* Restore empty external .prototype only for constructable',
  },
  {
    why: 'no name and no count of arguments for each function; its scope was set with the name only',
    find: `	tmp32 = DUK_RAW_READINC_U32_BE(p);
	duk_push_u32(thr, tmp32);
	duk_xdef_prop_stridx_short(thr, -2, DUK_STRIDX_LENGTH, DUK_PROPDESC_FLAGS_C);`,
    replace: `p += 4;
	DUK_HCOMPFUNC_SET_LEXENV(thr->heap, h_fun, thr->builtins[DUK_BIDX_GLOBAL_ENV]);
	DUK_HCOMPFUNC_SET_VARENV(thr->heap, h_fun, thr->builtins[DUK_BIDX_GLOBAL_ENV]);
	DUK_HOBJECT_INCREF(thr, thr->builtins[DUK_BIDX_GLOBAL_ENV]);
	DUK_HOBJECT_INCREF(thr, thr->builtins[DUK_BIDX_GLOBAL_ENV]);`,
  },
  {
    why: 'nor for each closure',
    find: `	duk_push_uint(thr, len_value); /* [ ... closure template len_value ] */
	duk_xdef_prop_stridx_short(thr, -3, DUK_STRIDX_LENGTH, DUK_PROPDESC_FLAGS_C);`,
    replace: '',
  },
  {
    why: 'nor accessors that throw for `caller` and `arguments`; nothing asks for either',
    find: `		duk_xdef_prop_stridx_thrower(thr, -2, DUK_STRIDX_CALLER);
		duk_xdef_prop_stridx_thrower(thr, -2, DUK_STRIDX_LC_ARGUMENTS);`,
    replace: '',
  },
  {
    why: 'where a plain property of the object itself is, by a hint that is checked before it is used',
    find: `DUK_INTERNAL duk_bool_t duk_hobject_getprop(duk_hthread *thr, duk_tval *tv_obj, duk_tval *tv_key) {
	duk_tval tv_obj_copy;`,
    replace: `
static duk_uint8_t duk__hints[2048];
DUK_LOCAL duk_int_t duk__find_own(duk_heap *heap, duk_hobject *own, duk_hstring *name) {
	duk_uint8_t *hint = duk__hints + ((((duk_uintptr_t) own >> 2) + ((duk_uintptr_t) name >> 1)) & 2047);
	duk_int_t at = *hint, unused;
	if (at < (duk_int_t) DUK_HOBJECT_GET_ENEXT(own) && DUK_HOBJECT_E_GET_KEY(heap, own, at) == name) return at;
	if (!duk_hobject_find_entry(heap, own, name, &at, &unused)) return -1;
	*hint = (duk_uint8_t) at;
	return at;
}
DUK_LOCAL duk_tval *duk__own_value(duk_heap *heap, duk_tval *tv_obj, duk_tval *tv_key, duk_uint8_t wanted) {
	duk_hobject *own;
	duk_int_t at;
	if (!DUK_TVAL_IS_OBJECT(tv_obj) || !DUK_TVAL_IS_STRING(tv_key)) return NULL;
	own = DUK_TVAL_GET_OBJECT(tv_obj);
	if (DUK_HOBJECT_HAS_EXOTIC_PROXYOBJ(own) || DUK_HOBJECT_HAS_EXOTIC_ARGUMENTS(own)) return NULL;
	at = duk__find_own(heap, own, DUK_TVAL_GET_STRING(tv_key));
	if (at < 0) return NULL;
	if ((DUK_HOBJECT_E_GET_FLAGS(heap, own, at) & (wanted | DUK_PROPDESC_FLAG_ACCESSOR)) != wanted) return NULL;
	return DUK_HOBJECT_E_GET_VALUE_TVAL_PTR(heap, own, at);
}
DUK_LOCAL duk_tval *duk__outer_value(duk_hthread *thr, duk_activation *act, duk_hstring *name) {
	duk_hobject *func = DUK_ACT_GET_FUNC(act), *env;
	duk_int_t at;
	if (act->lex_env != NULL || func == NULL || !DUK_HOBJECT_IS_COMPFUNC(func)) return NULL;
	if (DUK_HOBJECT_GET_ENEXT(func) != 0) return NULL; /* it might have variables of that name */
	env = DUK_HCOMPFUNC_GET_LEXENV(thr->heap, (duk_hcompfunc *) func);
	if (DUK_HOBJECT_GET_CLASS_NUMBER(env) != DUK_HOBJECT_CLASS_DECENV) return NULL;
	if (((duk_hdecenv *) env)->thread != NULL) return NULL; /* its variables are still in registers */
	at = duk__find_own(thr->heap, env, name);
	return at < 0 ? NULL : DUK_HOBJECT_E_GET_VALUE_TVAL_PTR(thr->heap, env, at);
}
/* Where the hint is right; null where it is not, or where more is to be looked at. */
DUK_LOCAL DUK_ALWAYS_INLINE duk_tval *duk__own_quick(duk_heap *heap, duk_tval *tv_obj, duk_tval *tv_key, duk_uint8_t wanted) {
	duk_hobject *own;
	duk_hstring *name;
	duk_uint_t at;
	if (!DUK_TVAL_IS_OBJECT(tv_obj) || !DUK_TVAL_IS_STRING(tv_key)) return NULL;
	own = DUK_TVAL_GET_OBJECT(tv_obj);
	name = DUK_TVAL_GET_STRING(tv_key);
	at = duk__hints[(((duk_uintptr_t) own >> 2) + ((duk_uintptr_t) name >> 1)) & 2047];
	if (at >= DUK_HOBJECT_GET_ENEXT(own) || DUK_HOBJECT_E_GET_KEY(heap, own, at) != name) return NULL;
	if ((DUK_HOBJECT_E_GET_FLAGS(heap, own, at) & (wanted | DUK_PROPDESC_FLAG_ACCESSOR)) != wanted) return NULL;
	if (DUK_HEAPHDR_CHECK_FLAG_BITS((duk_heaphdr *) own, DUK_HOBJECT_FLAG_EXOTIC_ARGUMENTS | DUK_HOBJECT_FLAG_EXOTIC_PROXYOBJ)) return NULL;
	return DUK_HOBJECT_E_GET_VALUE_TVAL_PTR(heap, own, at);
}
DUK_LOCAL DUK_ALWAYS_INLINE duk_tval *duk__outer_quick(duk_heap *heap, duk_hobject *outer, duk_activation *act, duk_hstring *name) {
	duk_uint_t at;
	if (outer == NULL || act->lex_env != NULL) return NULL;
	at = duk__hints[(((duk_uintptr_t) outer >> 2) + ((duk_uintptr_t) name >> 1)) & 2047];
	if (at >= DUK_HOBJECT_GET_ENEXT(outer) || DUK_HOBJECT_E_GET_KEY(heap, outer, at) != name) return NULL;
	return DUK_HOBJECT_E_GET_VALUE_TVAL_PTR(heap, outer, at);
}
/* The scope of a function's outer names, where it is closed and the function has no names of its own. */
DUK_LOCAL DUK_ALWAYS_INLINE duk_hobject *duk__outer_of(duk_heap *heap, duk_hcompfunc *fun) {
	duk_hobject *env = DUK_HCOMPFUNC_GET_LEXENV(heap, fun);
	if (DUK_HOBJECT_GET_ENEXT((duk_hobject *) fun) != 0 || DUK_HOBJECT_GET_CLASS_NUMBER(env) != DUK_HOBJECT_CLASS_DECENV) return NULL;
	return ((duk_hdecenv *) env)->thread == NULL ? env : NULL;
}
DUK_INTERNAL duk_bool_t duk_hobject_getprop(duk_hthread *thr, duk_tval *tv_obj, duk_tval *tv_key) {
	duk_tval tv_obj_copy;`,
  },
  {
    why: 'such a property is read without the value stack',
    find: `		(void) duk_hobject_getprop(thr, (barg), (carg)); \\
		DUK__REPLACE_TOP_A_BREAK(); \\
	}
#define DUK__GETPROPC_BODY`,
    replace: `\\
		duk_tval *tv__own = duk__own_quick(thr->heap, (barg), (carg), 0); \\
		if (tv__own == NULL) tv__own = duk__own_value(thr->heap, (barg), (carg), 0); \\
		if (tv__own != NULL) { \\
			duk_tval *tv__to = DUK__REGP_A(ins); \\
			DUK_TVAL_SET_TVAL_UPDREF(thr, tv__to, tv__own); \\
			break; \\
		} \\
		(void) duk_hobject_getprop(thr, (barg), (carg)); \\
		DUK__REPLACE_TOP_A_BREAK(); \\
	}
#define DUK__GETPROPC_BODY`,
  },
  {
    why: 'a name of an outer scope is found by the same hint',
    find: `			tv = duk_hobject_find_entry_tval_ptr_and_attrs(thr->heap, env, name, &attrs);
			if (tv) {`,
    replace: `
			duk_int_t at = duk__find_own(thr->heap, env, name);
			tv = at < 0 ? NULL : DUK_HOBJECT_E_GET_VALUE_TVAL_PTR(thr->heap, env, at);
			attrs = at < 0 ? 0 : DUK_HOBJECT_E_GET_FLAGS(thr->heap, env, at);
			if (tv) {`,
  },
  {
    why: 'and read without the value stack, if its scope is that of the function and is closed',
    find: `			(void) duk_js_getvar_activation(thr, act, name, 1 /*throw*/); /* -> [... val this] */
			duk_pop_unsafe(thr);`,
    replace: `
			{
				duk_tval *tv__outer = duk__outer_quick(thr->heap, outer, act, name);
				if (tv__outer == NULL) tv__outer = duk__outer_value(thr, act, name);
				if (tv__outer != NULL) {
					duk_tval *tv__to = DUK__REGP_A(ins);
					DUK_TVAL_SET_TVAL_UPDREF(thr, tv__to, tv__outer);
					break;
				}
			}
			(void) duk_js_getvar_activation(thr, act, name, 1 /*throw*/); /* -> [... val this] */
			duk_pop_unsafe(thr);`,
  },
  {
    why: 'the same for a function that is called by its name',
    find: `			(void) duk_js_getvar_activation(thr, act, name, 1 /*throw*/); /* -> [... val this] */

			idx = (duk_uint_fast_t) DUK_DEC_A(ins);`,
    replace: `
			idx = (duk_uint_fast_t) DUK_DEC_A(ins);
			{
				duk_tval *tv__outer = duk__outer_quick(thr->heap, outer, act, name);
				if (tv__outer == NULL) tv__outer = duk__outer_value(thr, act, name);
				if (tv__outer != NULL) {
					duk_tval *tv__to = thr->valstack_bottom + idx;
					DUK_TVAL_SET_TVAL_UPDREF(thr, tv__to, tv__outer);
					tv__to = thr->valstack_bottom + idx + 1;
					DUK_TVAL_SET_UNDEFINED_UPDREF(thr, tv__to);
					break;
				}
			}
			(void) duk_js_getvar_activation(thr, act, name, 1 /*throw*/); /* -> [... val this] */
`,
  },
  {
    why: 'and written, if it is there and writable',
    find: '	DUK_STATS_INC(thr->heap, stats_putprop_all);',
    replace: `
	tv = duk__own_value(thr->heap, tv_obj, tv_key, DUK_PROPDESC_FLAG_WRITABLE);
	if (tv != NULL) {
		DUK_TVAL_SET_TVAL_UPDREF(thr, tv, tv_val);
		return 1;
	}`,
  },
  {
    why: 'a map of no variables is none, as after compiling',
    find: `	duk_compact_m1(thr);
	duk_xdef_prop_stridx_short(thr, -2, DUK_STRIDX_INT_VARMAP, DUK_PROPDESC_FLAGS_NONE);

	/* _Formals may have`,
    replace: `if (DUK_HOBJECT_GET_ENEXT(duk_known_hobject(thr, -1)) == 0) {
		duk_pop(thr);
	} else {
		duk_compact_m1(thr);
		duk_xdef_prop_stridx_short(thr, -2, DUK_STRIDX_INT_VARMAP, DUK_PROPDESC_FLAGS_NONE);
	}

	/* _Formals may have`,
  },
  {
    why: 'two small integers are compared without a call',
    find: `#define DUK__COMPARE_BODY(arg1, arg2, flags) \\
	{ \\
		duk_bool_t tmp; \\
		tmp = duk_js_compare_helper(thr, (arg1), (arg2), (flags)); \\
		DUK_ASSERT(tmp == 0 || tmp == 1); \\
		DUK__REPLACE_BOOL_A_BREAK(tmp); \\
	}`,
    replace: `
#define DUK__COMPARE_BODY(arg1, arg2, flags) { cmp_left = (arg1); cmp_right = (arg2); cmp_flags = (flags); goto compare_values; }`,
  },
  {
    why: 'nor for being the same',
    find: `#define DUK__SEQ_BODY(barg, carg) \\
	{ \\
		duk_bool_t tmp; \\
		tmp = duk_js_strict_equals((barg), (carg)); \\
		DUK_ASSERT(tmp == 0 || tmp == 1); \\
		DUK__REPLACE_BOOL_A_BREAK(tmp); \\
	}
#define DUK__SNEQ_BODY(barg, carg) \\
	{ \\
		duk_bool_t tmp; \\
		tmp = duk_js_strict_equals((barg), (carg)); \\
		DUK_ASSERT(tmp == 0 || tmp == 1); \\
		tmp ^= 1; \\
		DUK__REPLACE_BOOL_A_BREAK(tmp); \\
	}`,
    replace: `
#define DUK__SEQ_BODY(barg, carg) { cmp_left = (barg); cmp_right = (carg); cmp_flags = 0; goto equate_values; }
#define DUK__SNEQ_BODY(barg, carg) { cmp_left = (barg); cmp_right = (carg); cmp_flags = 1; goto equate_values; }`,
  },
  {
    why: 'the variables of both',
    find: `	/* 'funcs' is quite rarely used, so no local for it */
#if defined(DUK_USE_EXEC_FUN_LOCAL)`,
    replace: `
	duk_hobject *outer;
	duk_tval *cmp_left, *cmp_right;
	duk_small_uint_t cmp_flags;
	duk_bool_t cmp_is;
#if defined(DUK_USE_EXEC_FUN_LOCAL)`,
  },
  {
    why: 'a condition and the branch and jump that follow it are one operation: two in three conditions do',
    find: `#if defined(DUK_USE_EXEC_PREFER_SIZE)
	replace_top_a:`,
    replace: `
	equate_values:
		if (DUK__ARE_SMALL(cmp_left, cmp_right)) cmp_is = DUK__SAME_SMALL(cmp_left, cmp_right) ^ cmp_flags;
		else cmp_is = duk_js_strict_equals(cmp_left, cmp_right) ^ cmp_flags;
		goto have_condition;
	compare_values:
		if (DUK__ARE_SMALL(cmp_left, cmp_right)) {
			cmp_is = DUK__LESS_SMALL(cmp_left, cmp_right) ^ (cmp_flags & DUK_COMPARE_FLAG_NEGATE);
		} else {
			cmp_is = duk_js_compare_helper(thr, cmp_left, cmp_right, cmp_flags);
		}
	have_condition:
		{
			duk_tval *tv__to = DUK__REGP_A(ins);
			duk_instr_t next, own;
			DUK_TVAL_SET_BOOLEAN_UPDREF(thr, tv__to, cmp_is);
			next = *curr_pc;
			own = (ins & 0xff00UL) << 8;
			if (next == (own | DUK_OP_IFFALSE_R)) cmp_is ^= 1;
			else if (next != (own | DUK_OP_IFTRUE_R)) continue;
			curr_pc++;
		}
	branch:
		{
			duk_instr_t *pc = curr_pc;
			duk_instr_t next = *pc++;
			if (cmp_is) curr_pc = pc;
			else if ((next & 0xff) == DUK_OP_JUMP) {
				curr_pc = pc + ((duk_int_fast_t) DUK_DEC_ABC(next) - (duk_int_fast_t) DUK_BC_JUMP_BIAS);
			}
			continue;
		}
#if defined(DUK_USE_EXEC_PREFER_SIZE)
	replace_top_a:`,
  },
  {
    why: 'the same for a value that is a condition by itself',
    find: `			if (duk_js_toboolean(DUK__REGP_BC(ins)) != 0) {
				curr_pc++;
			}
			break;`,
    replace: `
			cmp_left = DUK__REGP_BC(ins);
			cmp_is = DUK_TVAL_IS_BOOLEAN(cmp_left) ? DUK_TVAL_GET_BOOLEAN(cmp_left) : duk_js_toboolean(cmp_left);
			goto branch;`,
  },
  {
    why: 'and for one that is not',
    find: `			if (duk_js_toboolean(DUK__REGP_BC(ins)) == 0) {
				curr_pc++;
			}
			break;`,
    replace: `
			cmp_left = DUK__REGP_BC(ins);
			cmp_is = (DUK_TVAL_IS_BOOLEAN(cmp_left) ? DUK_TVAL_GET_BOOLEAN(cmp_left) : duk_js_toboolean(cmp_left)) ^ 1;
			goto branch;`,
  },
  {
    why: 'small integers by their two words, as they are packed',
    find: `/* Inner executor, performance critical. */`,
    replace: `
#if defined(DUK_USE_PACKED_TVAL)
#define DUK__HIGH(tv) ((tv)->ui[DUK_DBL_IDX_UI0])
#define DUK__LOW(tv) ((tv)->ui[DUK_DBL_IDX_UI1])
#define DUK__IS_SMALL(tv) (DUK__HIGH(tv) >> 16 == DUK_TAG_FASTINT)
#define DUK__ARE_SMALL(x, y) (DUK__IS_SMALL(x) && DUK__IS_SMALL(y))
#define DUK__SAME_SMALL(x, y) (DUK__LOW(x) == DUK__LOW(y) && DUK__HIGH(x) == DUK__HIGH(y))
/* 48 bits: the upper 16 with the sign, the lower 32 without. */
#define DUK__LESS_SMALL(x, y) \\
	(DUK__HIGH(x) == DUK__HIGH(y) ? DUK__LOW(x) < DUK__LOW(y) : (duk_int16_t) DUK__HIGH(x) < (duk_int16_t) DUK__HIGH(y))
#else
#define DUK__ARE_SMALL(x, y) 0
#define DUK__SAME_SMALL(x, y) 0
#define DUK__LESS_SMALL(x, y) 0
#endif

/*
 * A call of a plain strict function by a function: what duk__handle_call_raw does for it, and no more.
 * Gives 0, and has done nothing, where it is not such a call.
 */
DUK_LOCAL duk_bool_t duk__plain_call(duk_hthread *thr, duk_idx_t idx, duk_idx_t nargs, duk_instr_t *pc) {
	duk_tval *tv_func = thr->valstack_bottom + idx, *bottom = tv_func + 2, *tv, *end;
	duk_hcompfunc *fun;
	duk_activation *caller = thr->callstack_curr, *act = thr->heap->activation_free;
	const duk_uint_t wanted = DUK_HOBJECT_FLAG_COMPFUNC | DUK_HOBJECT_FLAG_STRICT | DUK_HOBJECT_FLAG_NEWENV | DUK_HOBJECT_FLAG_CALLABLE;
	const duk_uint_t unwanted = DUK_HOBJECT_FLAG_CREATEARGS | DUK_HOBJECT_FLAG_BOUNDFUNC | DUK_HOBJECT_FLAG_SPECIAL_CALL;
	if (!DUK_TVAL_IS_OBJECT(tv_func) || act == NULL || thr->callstack_top >= DUK_USE_CALLSTACK_LIMIT) return 0;
	fun = (duk_hcompfunc *) DUK_TVAL_GET_OBJECT(tv_func);
	if ((DUK_HEAPHDR_GET_FLAGS((duk_heaphdr *) fun) & (wanted | unwanted)) != wanted) return 0;
	end = bottom + fun->nregs + DUK_VALSTACK_INTERNAL_EXTRA;
	if (end > thr->valstack_end) {
		if (end > thr->valstack_alloc_end) return 0;
		thr->valstack_end = end;
	}
	thr->heap->activation_free = act->parent;
	caller->curr_pc = pc;
	caller->retval_byteoff = (duk_size_t) ((duk_uint8_t *) tv_func - (duk_uint8_t *) thr->valstack);
	act->parent = caller;
	act->cat = NULL;
	act->flags = DUK_ACT_FLAG_STRICT;
	act->func = (duk_hobject *) fun;
	DUK_TVAL_SET_OBJECT(&act->tv_func, (duk_hobject *) fun);
	DUK_HOBJECT_INCREF(thr, (duk_hobject *) fun);
	act->var_env = NULL;
	act->lex_env = NULL;
	act->curr_pc = DUK_HCOMPFUNC_GET_CODE_BASE(thr->heap, fun);
	act->bottom_byteoff = (duk_size_t) ((duk_uint8_t *) bottom - (duk_uint8_t *) thr->valstack);
	act->reserve_byteoff = (duk_size_t) ((duk_uint8_t *) thr->valstack_end - (duk_uint8_t *) thr->valstack);
	thr->callstack_curr = act;
	thr->callstack_top++;
	/* Registers beyond the arguments are undefined; what the caller left there goes. */
	end = thr->valstack_top;
	for (tv = bottom + (nargs < fun->nargs ? nargs : fun->nargs); tv < end; tv++) DUK_TVAL_SET_UNDEFINED_UPDREF_NORZ(thr, tv);
	thr->valstack_bottom = bottom;
	thr->valstack_top = bottom + fun->nregs;
	DUK_REFZERO_CHECK_FAST(thr);
	return 1;
}

/* The return from a function to a function; 0, and nothing is done, where it is more than that. */
DUK_LOCAL duk_bool_t duk__plain_return(duk_hthread *thr, duk_activation *entry_act, duk_tval *value) {
	duk_activation *act = thr->callstack_curr, *caller = act->parent;
	duk_hcompfunc *fun = (duk_hcompfunc *) act->func;
	duk_tval *tv, *to, *end;
	if (act == entry_act || act->cat != NULL || act->flags != DUK_ACT_FLAG_STRICT) return 0;
	if (act->var_env != NULL || act->lex_env != NULL || fun == NULL) return 0;
	if (!DUK_HOBJECT_HAS_NEWENV((duk_hobject *) fun)) return 0;
	if (value != NULL && DUK_TVAL_IS_DOUBLE(value)) return 0; /* it may become a small integer */
	to = (duk_tval *) (void *) ((duk_uint8_t *) thr->valstack + caller->retval_byteoff);
	end = thr->valstack_top;
	if (value == NULL) DUK_TVAL_SET_UNDEFINED_UPDREF_NORZ(thr, to);
	else {
		duk_tval before;
		DUK_TVAL_SET_TVAL(&before, to);
		DUK_TVAL_SET_TVAL(to, value);
		DUK_TVAL_INCREF(thr, to);
		DUK_TVAL_DECREF_NORZ(thr, &before);
	}
	for (tv = to + 1; tv < end; tv++) DUK_TVAL_SET_UNDEFINED_UPDREF_NORZ(thr, tv);
	DUK_HOBJECT_DECREF_NORZ(thr, (duk_hobject *) fun);
	act->parent = thr->heap->activation_free;
	thr->heap->activation_free = act;
	thr->callstack_curr = caller;
	thr->callstack_top--;
	thr->valstack_bottom = (duk_tval *) (void *) ((duk_uint8_t *) thr->valstack + caller->bottom_byteoff);
	thr->valstack_top = thr->valstack_bottom + ((duk_hcompfunc *) caller->func)->nregs;
	thr->valstack_end = (duk_tval *) (void *) ((duk_uint8_t *) thr->valstack + caller->reserve_byteoff);
	DUK_REFZERO_CHECK_FAST(thr);
	return 1;
}

/* Inner executor, performance critical. */`,
  },
  {
    why: 'a plain call takes 1,400 cycles with its return otherwise, a third now',
    find: `			DUK_ASSERT((ins & DUK_BC_CALL_FLAG_INDIRECT) == 0);

			nargs = (duk_idx_t) DUK_DEC_A(ins);`,
    replace: `
			nargs = (duk_idx_t) DUK_DEC_A(ins);
			if ((ins & 0x07U) == 0 && duk__plain_call(thr, (duk_idx_t) DUK_DEC_BC(ins), nargs, curr_pc)) goto restart_execution;`,
  },
  {
    why: 'its return with a value',
    find: `		case DUK_OP_RETREG: {
			duk_tval *tv;

			DUK__SYNC_AND_NULL_CURR_PC();`,
    replace: `case DUK_OP_RETREG: {
			duk_tval *tv;

			if (duk__plain_return(thr, entry_act, DUK__REGP_BC(ins))) goto restart_execution;
			DUK__SYNC_AND_NULL_CURR_PC();`,
  },
  {
    why: 'with a constant',
    find: `		case DUK_OP_RETCONSTN: {
			duk_tval *tv;

			DUK__SYNC_AND_NULL_CURR_PC();`,
    replace: `case DUK_OP_RETCONSTN: {
			duk_tval *tv;

			if (duk__plain_return(thr, entry_act, DUK__CONSTP_BC(ins))) goto restart_execution;
			DUK__SYNC_AND_NULL_CURR_PC();`,
  },
  {
    why: 'and with nothing',
    find: `		case DUK_OP_RETUNDEF: {
			DUK__SYNC_AND_NULL_CURR_PC();`,
    replace: `case DUK_OP_RETUNDEF: {
			if (duk__plain_return(thr, entry_act, NULL)) goto restart_execution;
			DUK__SYNC_AND_NULL_CURR_PC();`,
  },
  {
    why: 'the scope of outer names is looked up once a call',
    find: `		/* Set up curr_pc for opcode dispatch. */
		curr_pc = act->curr_pc;`,
    replace: `
		outer = duk__outer_of(thr->heap, fun);
		curr_pc = act->curr_pc;`,
  },
  {
    why: 'an element of an array is read where it is',
    find: `			DUK__GETPROP_BODY(DUK__REGP_B(ins), DUK__REGP_C(ins));
		case DUK_OP_GETPROP_CR:`,
    replace: `
			cmp_left = DUK__REGP_B(ins);
			cmp_right = DUK__REGP_C(ins);
			if (DUK_TVAL_IS_OBJECT(cmp_left) && DUK_TVAL_IS_FASTINT(cmp_right)) {
				duk_hobject *own = DUK_TVAL_GET_OBJECT(cmp_left);
				const duk_uint_t exotic = DUK_HOBJECT_FLAG_EXOTIC_ARGUMENTS | DUK_HOBJECT_FLAG_EXOTIC_STRINGOBJ |
				                          DUK_HOBJECT_FLAG_EXOTIC_PROXYOBJ | DUK_HOBJECT_FLAG_BUFOBJ | DUK_HOBJECT_FLAG_ARRAY_PART;
				const duk_int64_t index = DUK_TVAL_GET_FASTINT(cmp_right);
				if ((DUK_HEAPHDR_GET_FLAGS((duk_heaphdr *) own) & exotic) == DUK_HOBJECT_FLAG_ARRAY_PART && index >= 0 &&
				    index < (duk_int64_t) DUK_HOBJECT_GET_ASIZE(own)) {
					duk_tval *tv__from = DUK_HOBJECT_A_GET_VALUE_PTR(thr->heap, own, (duk_uint32_t) index);
					if (!DUK_TVAL_IS_UNUSED(tv__from)) {
						duk_tval *tv__to = DUK__REGP_A(ins);
						DUK_TVAL_SET_TVAL_UPDREF(thr, tv__to, tv__from);
						break;
					}
				}
			}
			DUK__GETPROP_BODY(DUK__REGP_B(ins), DUK__REGP_C(ins));
		case DUK_OP_GETPROP_CR:`,
  },
  {
    why: 'a plain property is written where it is',
    find: `		(void) duk_hobject_putprop(thr, (aarg), (barg), (carg), DUK__STRICT()); \\
		break; \\`,
    replace: `\\
		duk_tval *tv__own = duk__own_quick(thr->heap, (aarg), (barg), DUK_PROPDESC_FLAG_WRITABLE); \\
		if (tv__own != NULL) { \\
			duk_tval *tv__from = (carg); \\
			DUK_TVAL_SET_TVAL_UPDREF(thr, tv__own, tv__from); \\
			break; \\
		} \\
		(void) duk_hobject_putprop(thr, (aarg), (barg), (carg), DUK__STRICT()); \\
		break; \\`,
  },
  {
    why: 'a small integer that is counted in a property stays one, and is counted where it is',
    find: `			tv_key = DUK__REGCONSTP_C(ins);
			rc = duk_hobject_getprop(thr, tv_obj, tv_key); /* -> [val] */
			DUK_UNREF(rc); /* ignore */
			tv_obj = NULL; /* invalidated */`,
    replace: `
			tv_key = DUK__REGCONSTP_C(ins);
			tv_val = duk__own_value(thr->heap, tv_obj, tv_key, DUK_PROPDESC_FLAG_WRITABLE);
			if (tv_val != NULL && DUK_TVAL_IS_FASTINT(tv_val)) {
				const duk_int64_t had = DUK_TVAL_GET_FASTINT(tv_val);
				const duk_int64_t has = (ins & DUK_BC_INCDECP_FLAG_DEC) ? had - 1 : had + 1;
				if (has > -0x7fffffff && has < 0x7fffffff) {
					DUK_TVAL_SET_FASTINT(tv_val, has);
					tv_val = DUK__REGP_A(ins);
					DUK_TVAL_SET_FASTINT_UPDREF(thr, tv_val, (ins & DUK_BC_INCDECP_FLAG_POST) ? had : has);
					break;
				}
			}
			rc = duk_hobject_getprop(thr, tv_obj, tv_key); /* -> [val] */
			DUK_UNREF(rc); /* ignore */
			tv_obj = NULL; /* invalidated */`,
  },
  {
    why: 'what a register held is remembered in two words, not in a value of its own on the stack',
    find: `/* XXX: no optimized variants yet */
#define DUK_TVAL_SET_UNDEFINED_UPDREF      DUK_TVAL_SET_UNDEFINED_UPDREF_ALT0
#define DUK_TVAL_SET_UNDEFINED_UPDREF_NORZ DUK_TVAL_SET_UNDEFINED_UPDREF_NORZ_ALT0
#define DUK_TVAL_SET_UNUSED_UPDREF         DUK_TVAL_SET_UNUSED_UPDREF_ALT0
#define DUK_TVAL_SET_NULL_UPDREF           DUK_TVAL_SET_NULL_UPDREF_ALT0
#define DUK_TVAL_SET_BOOLEAN_UPDREF        DUK_TVAL_SET_BOOLEAN_UPDREF_ALT0
#define DUK_TVAL_SET_NUMBER_UPDREF         DUK_TVAL_SET_NUMBER_UPDREF_ALT0
#define DUK_TVAL_SET_NUMBER_CHKFAST_UPDREF DUK_TVAL_SET_NUMBER_CHKFAST_UPDREF_ALT0
#define DUK_TVAL_SET_DOUBLE_UPDREF         DUK_TVAL_SET_DOUBLE_UPDREF_ALT0
#define DUK_TVAL_SET_NAN_UPDREF            DUK_TVAL_SET_NAN_UPDREF_ALT0
#if defined(DUK_USE_FASTINT)`,
    replace: `
#define DUK_TVAL_SET_UNUSED_UPDREF         DUK_TVAL_SET_UNUSED_UPDREF_ALT0
#define DUK_TVAL_SET_NULL_UPDREF           DUK_TVAL_SET_NULL_UPDREF_ALT0
#define DUK_TVAL_SET_NUMBER_CHKFAST_UPDREF DUK_TVAL_SET_NUMBER_CHKFAST_UPDREF_ALT0
#define DUK_TVAL_SET_NAN_UPDREF            DUK_TVAL_SET_NAN_UPDREF_ALT0
#if defined(DUK_USE_PACKED_TVAL)
#define DUK__SET_UPDREF(thr, tvptr_dst, set, refzero) \\
	do { \\
		duk_tval *tv__dst = (tvptr_dst); \\
		const duk_uint32_t high__was = tv__dst->ui[DUK_DBL_IDX_UI0]; \\
		duk_heaphdr *const h__was = (duk_heaphdr *) tv__dst->vp[DUK_DBL_IDX_VP1]; \\
		set; \\
		if (high__was >= ((duk_uint32_t) DUK_TAG_STRING << 16) && DUK_HEAPHDR_PREDEC_REFCOUNT(h__was) == 0) refzero((thr), h__was); \\
	} while (0)
#define DUK_TVAL_SET_UNDEFINED_UPDREF(thr, d) DUK__SET_UPDREF(thr, d, DUK_TVAL_SET_UNDEFINED(tv__dst), duk_heaphdr_refzero)
#define DUK_TVAL_SET_UNDEFINED_UPDREF_NORZ(thr, d) DUK__SET_UPDREF(thr, d, DUK_TVAL_SET_UNDEFINED(tv__dst), duk_heaphdr_refzero_norz)
#define DUK_TVAL_SET_BOOLEAN_UPDREF(thr, d, v) DUK__SET_UPDREF(thr, d, DUK_TVAL_SET_BOOLEAN(tv__dst, v), duk_heaphdr_refzero)
#define DUK_TVAL_SET_NUMBER_UPDREF(thr, d, v) DUK__SET_UPDREF(thr, d, DUK_TVAL_SET_NUMBER(tv__dst, v), duk_heaphdr_refzero)
#define DUK_TVAL_SET_DOUBLE_UPDREF(thr, d, v) DUK__SET_UPDREF(thr, d, DUK_TVAL_SET_DOUBLE(tv__dst, v), duk_heaphdr_refzero)
#define DUK_TVAL_SET_I48_UPDREF(thr, d, v) DUK__SET_UPDREF(thr, d, DUK_TVAL_SET_I48(tv__dst, v), duk_heaphdr_refzero)
#define DUK_TVAL_SET_I32_UPDREF(thr, d, v) DUK__SET_UPDREF(thr, d, DUK_TVAL_SET_I32(tv__dst, v), duk_heaphdr_refzero)
#define DUK_TVAL_SET_U32_UPDREF(thr, d, v) DUK__SET_UPDREF(thr, d, DUK_TVAL_SET_U32(tv__dst, v), duk_heaphdr_refzero)
#else
#define DUK_TVAL_SET_UNDEFINED_UPDREF      DUK_TVAL_SET_UNDEFINED_UPDREF_ALT0
#define DUK_TVAL_SET_UNDEFINED_UPDREF_NORZ DUK_TVAL_SET_UNDEFINED_UPDREF_NORZ_ALT0
#define DUK_TVAL_SET_BOOLEAN_UPDREF        DUK_TVAL_SET_BOOLEAN_UPDREF_ALT0
#define DUK_TVAL_SET_NUMBER_UPDREF         DUK_TVAL_SET_NUMBER_UPDREF_ALT0
#define DUK_TVAL_SET_DOUBLE_UPDREF         DUK_TVAL_SET_DOUBLE_UPDREF_ALT0
#endif
#if defined(DUK_USE_PACKED_TVAL)
#elif defined(DUK_USE_FASTINT)`,
  },
  {
    why: 'what the core never uses (its lint knows) is not made: dates, patterns, JSON, typed arrays and the like',
    find: `DUK_INTERNAL void duk_hthread_create_builtin_objects(duk_hthread *thr) {
	duk_bitdecoder_ctx bd_ctx;`,
    replace: `
#if defined(SMIRR_HOST)
#define DUK__IS_DROPPED(i) 0
#else
#define DUK__IS_DROPPED(i) \\
	(((i) > DUK_BIDX_NUMBER_PROTOTYPE && (i) < DUK_BIDX_ERROR_CONSTRUCTOR) || ((i) > DUK_BIDX_TYPE_ERROR_THROWER && (i) != DUK_BIDX_DOUBLE_ERROR))
#endif
DUK_INTERNAL void duk_hthread_create_builtin_objects(duk_hthread *thr) {
	duk_small_uint_t dropped_value;
	duk_bitdecoder_ctx bd_ctx;`,
  },
  {
    why: 'their objects stay empty',
    find: `		if (t > 0) {
			/* 'prototype' property for all built-in objects (which have it) has attributes:`,
    replace: `if (t > 0 && !DUK__IS_DROPPED(i)) {
			/* 'prototype' property for all built-in objects (which have it) has attributes:`,
  },
  {
    why: 'and refer to nothing',
    find: `		if (t > 0) {
			/* 'constructor' property for all built-in objects (which have it) has attributes:`,
    replace: `if (t > 0 && !DUK__IS_DROPPED(i)) {
			/* 'constructor' property for all built-in objects (which have it) has attributes:`,
  },
  {
    why: 'no name refers to them',
    find: `				bidx = (duk_small_uint_t) duk_bd_decode_varuint(bd);
				duk_dup(thr, (duk_idx_t) bidx);`,
    replace: `
				bidx = (duk_small_uint_t) duk_bd_decode_varuint(bd);
				dropped_value = DUK__IS_DROPPED(bidx);
				duk_dup(thr, (duk_idx_t) bidx);`,
  },
  {
    why: 'a property of theirs is read and forgotten',
    find: `			duk_def_prop(thr, (duk_idx_t) i, defprop_flags);
			DUK_ASSERT_TOP(thr, DUK_NUM_ALL_BUILTINS);`,
    replace: `
			if (DUK__IS_DROPPED(i) || dropped_value) duk_set_top(thr, DUK_NUM_ALL_BUILTINS);
			else duk_def_prop(thr, (duk_idx_t) i, defprop_flags);`,
  },
  {
    why: 'each value is asked for itself',
    find: `			t = (duk_small_uint_t) duk_bd_decode(bd, DUK__PROP_TYPE_BITS);`,
    replace: `
			dropped_value = 0;
			t = (duk_small_uint_t) duk_bd_decode(bd, DUK__PROP_TYPE_BITS);`,
  },
  {
    why: 'so are their functions, and the global ones',
    find: `			magic = (duk_int16_t) duk_bd_decode_varuint(bd);

#if defined(DUK_USE_LIGHTFUNC_BUILTINS)
			lightfunc_eligible =`,
    replace: `
			magic = (duk_int16_t) duk_bd_decode_varuint(bd);
#if !defined(SMIRR_HOST)
			if (DUK__IS_DROPPED(i) || i == DUK_BIDX_GLOBAL) {
				(void) duk_bd_decode_flagged(bd, DUK__PROP_FLAGS_BITS, (duk_uint32_t) DUK_PROPDESC_FLAGS_WC);
				duk_set_top(thr, DUK_NUM_ALL_BUILTINS);
				continue;
			}
#endif
#if defined(DUK_USE_LIGHTFUNC_BUILTINS)
			lightfunc_eligible =`,
  },
  {
    why: 'an element of an array is written where it is, or added at its end where there is room',
    find: `			DUK__PUTPROP_BODY(DUK__REGP_A(ins), DUK__REGP_B(ins), DUK__REGP_C(ins));`,
    replace: `
			cmp_left = DUK__REGP_A(ins);
			cmp_right = DUK__REGP_B(ins);
			if (DUK_TVAL_IS_OBJECT(cmp_left) && DUK_TVAL_IS_FASTINT(cmp_right)) {
				duk_hobject *own = DUK_TVAL_GET_OBJECT(cmp_left);
				const duk_uint_t plain = DUK_HOBJECT_FLAG_EXOTIC_ARRAY | DUK_HOBJECT_FLAG_ARRAY_PART | DUK_HOBJECT_FLAG_EXTENSIBLE;
				const duk_int64_t index = DUK_TVAL_GET_FASTINT(cmp_right);
				if ((DUK_HEAPHDR_GET_FLAGS((duk_heaphdr *) own) & plain) == plain && index >= 0 &&
				    index < (duk_int64_t) DUK_HOBJECT_GET_ASIZE(own) && !DUK_HARRAY_LENGTH_NONWRITABLE((duk_harray *) own)) {
					duk_tval *tv__to = DUK_HOBJECT_A_GET_VALUE_PTR(thr->heap, own, (duk_uint32_t) index);
					duk_uint32_t *length = &((duk_harray *) own)->length;
					duk_tval *tv__from = DUK__REGP_C(ins);
					if (!DUK_TVAL_IS_UNUSED(tv__to) || index == (duk_int64_t) *length) {
						DUK_TVAL_SET_TVAL_UPDREF(thr, tv__to, tv__from);
						if (index == (duk_int64_t) *length) (*length)++;
						break;
					}
				}
			}
			DUK__PUTPROP_BODY(DUK__REGP_A(ins), DUK__REGP_B(ins), DUK__REGP_C(ins));`,
  },
];
