package org.kivy.android;

import android.content.Intent;
import android.os.Bundle;
import java.util.ArrayList;
import java.util.Collections;
import java.util.Iterator;
import java.util.List;
import org.libsdl.app.SDLActivity;

/** Stands for python-for-android's activity: its listeners, and what device.py asks it. */
public class PythonActivity extends SDLActivity {
    public interface ActivityResultListener {
        void onActivityResult(int requestCode, int resultCode, Intent data);
    }

    public static PythonActivity mActivity;

    private final List<ActivityResultListener> listeners =
            Collections.synchronizedList(new ArrayList<ActivityResultListener>());

    public void registerActivityResultListener(ActivityResultListener one) {
        listeners.add(one);
    }

    public void unregisterActivityResultListener(ActivityResultListener one) {
        listeners.remove(one);
    }

    public int listening() {
        return listeners.size();
    }

    @Override
    protected void onCreate(Bundle savedInstanceState) {
        super.onCreate(savedInstanceState);
        mActivity = this;
    }

    /** Starts the app's activity as Android does, from the name in the manifest. */
    public static PythonActivity begin(String name) throws ReflectiveOperationException {
        PythonActivity begun = (PythonActivity) Class.forName(name).getConstructor().newInstance();
        begun.onCreate(null);
        return begun;
    }

    /** Goes through the listeners with an iterator, as the original does. */
    public void comesBack(int requestCode, int resultCode, Intent intent) {
        synchronized (listeners) {
            Iterator<ActivityResultListener> all = listeners.iterator();
            while (all.hasNext()) all.next().onActivityResult(requestCode, resultCode, intent);
        }
    }
}
