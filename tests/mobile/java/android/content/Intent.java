package android.content;

import android.net.Uri;
import android.os.Parcelable;

public class Intent {
    public final String action;
    private Uri data;

    public Intent(String action) {
        this.action = action;
    }

    public Intent putExtra(String name, Parcelable value) {
        return this;
    }

    public Intent addFlags(int flags) {
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
