"""Compiles the kernel's inner functions without making machine code of each.

Only the entry is ever called from Python, so the inner functions need be linked, not finished: they are
optimised once, together, inside the entry.  That leans on numba's internals, all of it in this file; where
they are not as expected, plain compiling takes over and only the first start is slower.
"""

from __future__ import annotations

from typing import Any


def lean(options: dict[str, Any]) -> dict[str, Any]:
    """The options of an inner function, with the lean pipeline if this numba allows it."""
    try:
        return {**options, "pipeline_class": _pipeline()}
    except (ImportError, AttributeError, TypeError):
        return options


_made: list[Any] = []


def _linked_only(library: Any, fndesc: Any, env: Any) -> Any:
    """Stands for an inner function in numba's tables, which want a built-in function; never called."""
    own: list[Any] = [fndesc]
    return own.append


def _pipeline() -> Any:
    """numba's pipeline with the last pass replaced; made once."""
    if _made:
        return _made[0]
    from numba.core.codegen import JITCodeLibrary
    from numba.core.compiler import CompilerBase, DefaultPassBuilder
    from numba.core.compiler_machinery import register_pass
    from numba.core.typed_passes import NativeLowering

    class LinkedLibrary(JITCodeLibrary):  # type: ignore[misc]
        """Code that is linked into its callers and never run by itself."""

        def finalize(self) -> None:
            seen = []
            for library in self._linking_libraries:
                if library not in seen:
                    seen.append(library)
                    self._reload_init.update(library._reload_init)
                    self._final_module.link_in(library._get_module_for_linking(), preserve=True)
            self._finalized = True

    @register_pass(mutates_CFG=True, analysis_only=False)
    class LinkedLowering(NativeLowering):  # type: ignore[misc]
        _name = "simcore_linked_lowering"

        def run_pass(self, state: Any) -> bool:
            context = state.targetctx
            state.library = LinkedLibrary(context.codegen(), state.func_id.func_qualname)
            context.get_executable = _linked_only
            try:
                return bool(super().run_pass(state))
            finally:
                del context.get_executable

    class LeanCompiler(CompilerBase):  # type: ignore[misc]
        def define_pipelines(self) -> list[Any]:
            manager = DefaultPassBuilder.define_nopython_pipeline(self.state)
            if not any(p is NativeLowering for p, _ in manager.passes):
                return [manager]
            manager.passes = [(LinkedLowering if p is NativeLowering else p, d) for p, d in manager.passes]
            manager._finalized = False
            manager.finalize()
            return [manager]

    _made.append(LeanCompiler)
    return LeanCompiler
