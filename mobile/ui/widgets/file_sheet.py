"""A file chosen from the desk's folders; the phone has its camera and its own picker instead."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import ListProperty, StringProperty

from mobile.ui.widgets.cards import RowCard
from mobile.ui.widgets.sheets import BottomSheet

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_MOST = 200


class FileSheet(BottomSheet):
    """Folders and files as rows, pictures unless told otherwise; ``on_chosen(path)``."""

    __events__ = ("on_chosen",)

    folder = StringProperty(str(Path.home()))
    endings = ListProperty([".jpg", ".jpeg", ".png"])
    shape = StringProperty("camera")

    def on_kv_post(self, base_widget: object) -> None:
        self._list()

    def on_folder(self, *_: object) -> None:
        self._list()

    def on_chosen(self, path: str) -> None:
        """Say which file was chosen."""

    def _list(self) -> None:
        rows = self.ids.rows
        rows.clear_widgets()
        here = Path(self.folder)
        self._add(here.parent, "up", "Folder above")
        for path in self._found(here):
            self._add(path, "list" if path.is_dir() else self.shape, path.name)

    def _found(self, here: Path) -> list[Path]:
        try:
            inside = sorted(here.iterdir(), key=lambda path: (path.is_file(), path.name.lower()))
        except OSError:
            return []
        wanted = [path for path in inside if not path.name.startswith(".")]
        return [p for p in wanted if p.is_dir() or p.suffix.lower() in self.endings][:_MOST]

    def _add(self, path: Path, shape: str, words: str) -> None:
        row = RowCard(text=words, shape=shape)
        row.bind(on_release=lambda _: self._pick(path))
        self.ids.rows.add_widget(row)

    def _pick(self, path: Path) -> None:
        if path.is_dir():
            self.folder = str(path)
        else:
            self.dismiss(animation=False)
            self.dispatch("on_chosen", str(path))
