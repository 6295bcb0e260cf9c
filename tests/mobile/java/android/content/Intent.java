package android.content;

import android.net.Uri;
import android.os.Parcelable;

public class Intent {
    public final String does;
    private Uri data;
    public Parcelable stream;
    public Intent wrapped;
    public int flags;

    public Intent(String action) {
        this.does = action;
    }

    public static Intent createChooser(Intent target, CharSequence title) {
        Intent chooser = new Intent("android.intent.action.CHOOSER");
        chooser.wrapped = target;
        return chooser;
    }

    public Intent putExtra(String name, Parcelable value) {
        if (name.equals("android.intent.extra.STREAM")) stream = value;
        return this;
    }

    public Intent addFlags(int flags) {
        this.flags |= flags;
        return this;
    }

    public Intent addCategory(String category) {
        return this;
    }

    public Intent setType(String type) {
        return this;
    }

    public Intent setData(Uri data) {
        this.data = data;
        return this;
    }

    public Uri getData() {
        return data;
    }
}
