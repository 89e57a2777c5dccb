"""The recipe an import reads by, as it is corrected, and one file read by it as a preview."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from viewer.reading.recipes.recipe import Recipe, RecipeError
from viewer.reading.recipes.recipe_file import load_recipe, parse_recipe, recipe_text, save_recipe
from viewer.state.importing.file_preview import FilePreview, preview_file
from viewer.state.importing.import_files import ImportFiles
from viewer.state.importing.import_work import ImportWork
from viewer.state.program.jobs import Job, Outcome, Progress, Step
from viewer.state.program.notifier import Value

THE_RECIPE = "The recipe"


class ImportRecipe:
    def __init__(self, files: ImportFiles, work: ImportWork) -> None:
        self.current: Value[str | None] = Value(None)
        """The file that the preview shows."""
        self.preview: Value[FilePreview | None] = Value(None)
        self.recipe: Value[Recipe | None] = Value(None)
        """For every file; None to look at each by itself."""
        self.text: Value[str] = Value("")
        """The recipe as TOML: the one for every file, or what the previewed file suggests."""
        self.problem: Value[str] = Value("")
        """What is wrong with the text as it was typed last; the recipe before it still holds."""
        self._files = files
        self._work = work
        self._previewing: Job | None = None
        self._complete_text = False

    def choose(self, name: str | None) -> None:
        """Show another file in the preview."""
        self.current.value = name
        self.show_preview()

    def edit_text(self, text: str) -> None:
        """The recipe as somebody types it: used as soon as it is right."""
        if text == self.text.value:
            return
        self.text.value = text
        try:
            recipe = parse_recipe(text, THE_RECIPE)
        except RecipeError as error:
            self.problem.value = str(error)
            return
        self.problem.value = ""
        self._complete_text = False
        if recipe != self.recipe.value:
            self.recipe.value = recipe
            self.show_preview()

    def use(self, recipe: Recipe) -> None:
        """A recipe for every file; columns that it leaves out are taken from the preview."""
        self.problem.value = ""
        self.recipe.value = recipe
        self.text.value = recipe_text(recipe)
        self._complete_text = True
        self.show_preview()

    def look_at_each(self) -> None:
        """No recipe: each file is read as it looks."""
        self.problem.value = ""
        self.recipe.value = None
        self.show_preview()

    @property
    def shown(self) -> Recipe | None:
        """The recipe that corrections start from: the one given, else what was guessed."""
        if self.recipe.value is not None:
            return self.recipe.value
        return self.preview.value.recipe if self.preview.value is not None else None

    def load(self, path: Path) -> None:
        """Read every file by the recipe in that file."""
        try:
            recipe = load_recipe(path)
        except RecipeError as error:
            self._work.said.value = str(error).split("\n")[0]
            return
        self._work.said.value = f"Every file is read by {path.name}."
        self.use(recipe)

    def save(self, path: Path) -> None:
        """Keep the recipe that is shown, whether given or guessed."""
        shown = self.shown
        if shown is None or not shown.curves:
            self._work.said.value = "There is nothing to save: no voltage and current are named."
            return
        try:
            save_recipe(shown, path)
        except OSError as error:
            self._work.said.value = f"{path} was not saved: {error.strerror}."
        else:
            self._work.said.value = f"Saved the recipe as {path}."

    def show_preview(self) -> None:
        """Read the current file as the recipe says now; an older preview is given up."""
        if self._previewing is not None:
            self._previewing.cancel()
            self._previewing = None
        file = self._files.by_name.get(self.current.value or "")
        if file is None:
            self.preview.value = None
            return
        recipe = self.recipe.value

        def steps() -> Iterator[Step]:
            yield Step(Progress(), preview_file(file, recipe))

        job = Job(f"Preview of {file.source}", steps, self._previewed)
        job.outcome.changed.connect(self._ended)
        self._previewing = job
        self._work.start_quietly(job)

    def _previewed(self, payloads: Sequence[FilePreview]) -> None:
        preview = payloads[-1]
        given = self.recipe.value
        if given is None:
            self.problem.value = ""
            self.text.value = recipe_text(preview.recipe)
        elif self._complete_text and not given.curves and preview.recipe.curves:
            self.recipe.value = replace(preview.recipe, name=given.name, paths=given.paths)
            self.text.value = recipe_text(self.recipe.value)
        self.preview.value = preview

    def _ended(self, outcome: Outcome | None) -> None:
        if outcome is not None and outcome.kind == "failed":
            self._work.said.value = outcome.text
